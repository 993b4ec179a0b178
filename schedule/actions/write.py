"""Writing a clue: every save that changes something is a revision of its own, never an edit."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.core.files.base import ContentFile
from django.db import transaction

from kal.models import AuditEntry, User
from schedule.errors import NoteMissing, NotWritten, StaleEdit
from schedule.files import CheckedFile
from schedule.models import Attachment, Clue, LetterUse, Revision
from schedule.tasks import sweep_at


@dataclass(frozen=True)
class Draft:
    """What a clue is to hold: `uses` in grams by letter, `attachments` by primary key."""

    title: str
    title_is_secret: bool
    body: str
    uses: Mapping[str, Decimal]
    attachments: frozenset[int]
    note: str = ""

    @property
    def is_empty(self) -> bool:
        return not self.body.strip() and not self.attachments


def draft_of(clue: Clue) -> Draft:
    """Return what the clue holds as it is stored now, without a note."""
    newest = clue.revision
    return Draft(
        title=clue.title,
        title_is_secret=clue.title_is_secret,
        body=newest.body if newest else "",
        uses={use.letter: use.grams for use in newest.letter_uses.all()} if newest else {},
        attachments=frozenset(newest.attachments.values_list("pk", flat=True) if newest else ()),
    )


@transaction.atomic
def save_clue(clue: Clue, draft: Draft, *, began_from: int, by: User, now: datetime) -> bool:
    """Store the draft, new content as a new revision; False when nothing has changed.

    `began_from` is the number of the revision the edit began from, 0 before the first: StaleEdit
    when there is a newer one. A clue that is out needs `draft.note` (NoteMissing), and one that
    is out or ready cannot be emptied (NotWritten).
    """
    clue = Clue.objects.select_for_update().select_related("knit_along").get(pk=clue.pk)
    newest = clue.revision
    if newest is not None and newest.number != began_from:
        raise StaleEdit(newest)
    before = draft_of(clue)
    has_new_content = _content(before) != _content(draft)
    if not has_new_content and before.title_is_secret == draft.title_is_secret:
        return False
    _check(clue, draft, has_new_content, now)
    clue.title, clue.title_is_secret = draft.title, draft.title_is_secret
    clue.save(update_fields=["title", "title_is_secret"])
    number = _store(clue, draft, newest, by, now) if has_new_content else began_from
    act = "put a clue right" if clue.is_released(now) else "saved a clue"
    AuditEntry.objects.record(
        clue.knit_along, act, by=by, at=now, clue=clue.number, revision=number
    )
    sweep_at(now)
    return True


def _content(draft: Draft) -> tuple[object, ...]:
    return draft.title, draft.body, dict(draft.uses), draft.attachments


def _check(clue: Clue, draft: Draft, has_new_content: bool, now: datetime) -> None:
    is_released = clue.is_released(now)
    if draft.is_empty and (is_released or clue.ready_at):
        state = "out" if is_released else "marked ready"
        raise NotWritten(f"Clue {clue.number} is {state}, so it cannot be saved empty.")
    if is_released and has_new_content and not draft.note.strip():
        raise NoteMissing(
            f"Clue {clue.number} is out: say in a sentence what you put right, "
            "so that those who have read it know."
        )


def _store(clue: Clue, draft: Draft, newest: Revision | None, by: User, now: datetime) -> int:
    """Write the next revision and return its number."""
    revision = Revision.objects.create(
        clue=clue,
        number=newest.number + 1 if newest else 1,
        title=draft.title,
        body=draft.body,
        note=draft.note.strip() if clue.is_released(now) else "",
        author=by,
        saved_at=now,
    )
    revision.attachments.set(clue.attachments.filter(pk__in=draft.attachments))
    LetterUse.objects.bulk_create(
        LetterUse(revision=revision, letter=letter, grams=grams)
        for letter, grams in draft.uses.items()
    )
    return revision.number


@transaction.atomic
def store_attachment(
    clue: Clue, file: CheckedFile, *, alt: str, by: User, now: datetime
) -> Attachment:
    """Store a checked file for the clue; nobody sees it until a revision shows it."""
    attachment = Attachment(
        clue=clue,
        kind=file.kind,
        name=_free_name(clue, file.name),
        alt=alt,
        content_type=file.content_type,
        size=len(file.content),
        width=file.width,
        height=file.height,
    )
    attachment.file.save("", ContentFile(file.content), save=False)
    attachment.save()
    AuditEntry.objects.record(
        clue.knit_along, "uploaded a file", by=by, at=now, clue=clue.number, bytes=attachment.size
    )
    return attachment


def _free_name(clue: Clue, name: str) -> str:
    """Return the name, numbered where the clue has a file of that name already."""
    taken = set(clue.attachments.values_list("name", flat=True))
    stem, dot, suffix = name.rpartition(".")
    number = 1
    while (free := name if number == 1 else f"{stem}-{number}{dot}{suffix}") in taken:
        number += 1
    return free
