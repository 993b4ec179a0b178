"""Keeping what is typed into a clue's form and not saved yet, for its author alone."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from django.db import transaction

from kal.models import User
from schedule.models import Clue, UnsavedWords


@transaction.atomic
def keep_words(
    clue: Clue,
    fields: Mapping[str, Sequence[str]],
    *,
    began_from: int,
    by: User,
    now: datetime,
) -> bool:
    """Keep what the form's boxes hold; False when its author has saved the clue since.

    Words that were on their way while the same person saved would come back as old news.
    """
    newest = Clue.objects.select_for_update().get(pk=clue.pk).revision
    if newest is not None and newest.number > began_from and newest.author_id == by.pk:
        return False
    UnsavedWords.objects.update_or_create(
        clue=clue,
        author=by,
        defaults={
            "fields": {_plain(name): list(map(_plain, fields[name])) for name in fields},
            "began_from": began_from,
            "kept_at": now,
        },
    )
    return True


def _plain(text: str) -> str:
    """Return the text without NUL, which PostgreSQL keeps in no text."""
    return text.replace("\0", "")


def drop_words(clue: Clue, *, by: User) -> None:
    """Forget what this author typed into the clue and did not save."""
    UnsavedWords.objects.filter(clue=clue, author=by).delete()
