"""Posts of progress: adding one with its photo, removing one's own, and saying "show me"."""

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from kal.models import Participant
from kal.records.files import drop_files
from palettes.photos import Picture
from schedule.errors import Blocked
from schedule.models import Clue, Post, PostingBlock, Question, Unveiling
from schedule.post_photos import store_copies


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
    post = Post(author=author, clue=clue, words=words, at=now, is_finished=is_finished)
    if picture:
        post.width, post.height, post.alt = picture.width, picture.height, alt
        post.photo = store_copies(picture)
    try:
        return _store(post)
    except BaseException:
        drop_files(post.stored_files())
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
    files = post.stored_files()
    post.delete()
    transaction.on_commit(lambda: drop_files(files))


def show_me(viewer: Participant, thing: Post | Question) -> None:
    """Take the cover off one post, or one question with its answers, for this viewer."""
    if isinstance(thing, Post):
        Unveiling.objects.get_or_create(participant=viewer, post=thing)
    else:
        Unveiling.objects.get_or_create(participant=viewer, question=thing)
