"""Posts of progress: adding one with its photo, editing and removing one's own, "show me"."""

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from kal.models import Participant
from kal.records.files import drop_files
from palettes.photos import Picture
from schedule.errors import Blocked, CoverTooLow
from schedule.models import Clue, EarlierWords, Post, PostingBlock, Question, Unveiling
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


@transaction.atomic
def edit_post(
    post: Post, *, clue: Clue, words: str, alt: str, is_finished: bool, now: datetime
) -> bool:
    """Store what the author now says of a post, keeping what it said; False if nothing changed.

    Blocked if they may not post; CoverTooLow where a moderator has moved it to a later clue. Under
    another clue it is covered again for whoever had said "show me": they meant the one before.
    """
    check_may_post(post.author)
    post = Post.objects.select_for_update(of=("self",)).select_related("moved_to").get(pk=post.pk)
    if clue.number < post.least_clue:
        raise CoverTooLow(post.least_clue)
    is_moved = clue.pk != post.clue_id
    said = (post.words, post.alt, post.is_finished)
    if not is_moved and said == (words, alt, is_finished):
        return False
    EarlierWords.objects.create(
        post=post,
        clue_id=post.clue_id,
        words=post.words,
        alt=post.alt,
        at=post.edited_at or post.at,
    )
    if is_moved:
        Unveiling.objects.filter(post=post).delete()
    post.clue, post.words, post.alt, post.is_finished = clue, words, alt, is_finished
    post.edited_at = now
    post.save(update_fields=["clue", "words", "alt", "is_finished", "edited_at"])
    return True


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
