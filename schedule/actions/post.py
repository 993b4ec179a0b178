"""Posts of progress: adding one with its photo, removing one's own, and saying "show me"."""

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from kal.models import Participant
from palettes.photos import Picture
from schedule.errors import Blocked
from schedule.models import Clue, Post, PostingBlock, Question, Unveiling
from schedule.post_photos import drop_copies, store_copies


def add_post(
    author: Participant,
    *,
    clue: Clue,
    words: str,
    now: datetime,
    picture: Picture | None = None,
    alt: str = "",
    is_finished: bool = False,
) -> Post:
    """Store a post about a clue that its author may read; Blocked if they may not post."""
    check_may_post(author)
    folder = store_copies(picture) if picture else ""
    try:
        return _store(
            Post(
                author=author,
                clue=clue,
                words=words,
                at=now,
                is_finished=is_finished,
                photo=folder,
                width=picture.width if picture else None,
                height=picture.height if picture else None,
                alt=alt if picture else "",
            )
        )
    except BaseException:
        if folder:
            drop_copies(folder)
        raise


@transaction.atomic
def _store(post: Post) -> Post:
    check_may_post(post.author)
    post.save()
    return post


def check_may_post(author: Participant) -> None:
    """Raise Blocked, with the reason that was given, while somebody may not post."""
    block = PostingBlock.objects.filter(participant=author, lifted_at=None).first()
    if block is not None:
        raise Blocked(
            _(
                "You cannot post, ask or answer here for now. The reason given: %(why)s "
                "Write to the organiser if you think that is a mistake."
            )
            % {"why": block.why}
        )


@transaction.atomic
def remove_post(post: Post) -> None:
    """Remove a post for good, at its author's wish; its photo goes with it."""
    folder = post.photo
    post.delete()
    if folder:
        transaction.on_commit(lambda: drop_copies(folder))


def show_me(viewer: Participant, thing: Post | Question) -> None:
    """Take the cover off one post, or one question with its answers, for this viewer."""
    if isinstance(thing, Post):
        Unveiling.objects.get_or_create(participant=viewer, post=thing)
    else:
        Unveiling.objects.get_or_create(participant=viewer, question=thing)
