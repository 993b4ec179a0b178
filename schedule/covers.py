"""What of a post, question or answer a viewer may see: the one home of the spoiler rule.

What is about a clue that is not out exists for early readers alone. What is about a clue that the
viewer has not opened stands behind a plain cover, with neither words nor photo nor what the photo
shows, until they open the clue or say "show me". Early readers know every clue, so nothing is
covered for them. What is hidden is there for its author, with the reason, and on the pages of
those who moderate. Pages get the `Seen…` values made here and never the rows.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Case, Exists, OuterRef, Q, QuerySet, Value, When
from django.utils.translation import gettext as _

from kal.models import Participant
from schedule.models import Answer, Opening, Post, Question, Thing, Unveiling
from schedule.post_photos import ShownPhoto, shown_photo
from schedule.visibility import readable_clues


@dataclass(frozen=True)
class Seen:
    """What every contribution may say of itself; `cover` is empty where it is open."""

    key: UUID
    number: int
    author: str
    at: datetime
    is_own: bool
    cover: str
    words: str
    is_hidden: bool
    hidden_why: str


@dataclass(frozen=True)
class SeenPost(Seen):
    is_finished: bool
    edited_at: datetime | None
    photo: ShownPhoto | None


@dataclass(frozen=True)
class SeenEarlier:
    """What a post said from `at` until it was edited."""

    number: int
    at: datetime
    words: str
    alt: str


@dataclass(frozen=True)
class SeenAnswer(Seen):
    is_host: bool
    is_in_notes: bool


@dataclass(frozen=True)
class SeenQuestion(Seen):
    """`answer_count` tells nothing of their words, and so is said of a covered question too."""

    answer_count: int


def posts_for(viewer: Participant, now: datetime) -> QuerySet[Post]:
    """Return the posts that the viewer may know of, newest first, each with `is_open`."""
    found = Post.objects.filter(clue__in=readable_clues(viewer, now)).filter(_shown_to(viewer))
    return _ready(found, viewer, "post")


def questions_for(viewer: Participant, now: datetime) -> QuerySet[Question]:
    """Return the questions that the viewer may know of, newest first, each with `is_open`."""
    found = Question.objects.filter(clue__in=readable_clues(viewer, now)).filter(_shown_to(viewer))
    return _ready(found, viewer, "question")


def answers_for(viewer: Participant, now: datetime) -> QuerySet[Answer]:
    """Return the answers that the viewer may know of; whether they are open, the question says."""
    known = questions_for(viewer, now).order_by().values("pk")
    found = Answer.objects.filter(question__in=known).filter(_shown_to(viewer))
    return found.select_related("author__user", "question__clue")


def see_post(post: Post, viewer: Participant) -> SeenPost:
    """Return the post, which must be of `posts_for`, as the viewer may see it."""
    is_open = post.is_open or post.author_id == viewer.pk
    cover = "" if is_open else _cover_of_post(post)
    photo = shown_photo(post, viewer.knit_along.slug) if is_open and post.photo else None
    return SeenPost(
        **_seen(post, viewer, cover),
        is_finished=post.is_finished,
        edited_at=post.edited_at,
        photo=photo,
    )


def see_question(question: Question, viewer: Participant) -> SeenQuestion:
    """Return the question, which must be of `questions_for`, as the viewer may see it."""
    is_open = question.is_open or question.author_id == viewer.pk
    cover = "" if is_open else cover_of_question(question)
    count = getattr(question, "answer_count", 0)
    return SeenQuestion(**_seen(question, viewer, cover), answer_count=count)


def see_answers(question: Question, viewer: Participant, now: datetime) -> list[SeenAnswer] | None:
    """Return the answers to a question of `questions_for`; None while they are covered.

    Who asks about a clue without opening it sees the question, but not what others say of the clue.
    """
    if not question.is_open:
        return None
    answers = answers_for(viewer, now).filter(question=question)
    return [
        SeenAnswer(
            **_seen(answer, viewer, ""),
            is_host=answer.author.is_organiser,
            is_in_notes=answer.pk == question.in_notes_id,
        )
        for answer in answers
    ]


def see_uncovered(thing: Thing, moderator: Participant) -> Seen:
    """Return what is moderated with its words and photo, for the pages of moderation alone."""
    if isinstance(thing, Post):
        thing.is_open = True
        return see_post(thing, moderator)
    return Seen(**_seen(thing, moderator, ""))


def see_earlier(post: Post, moderator: Participant, now: datetime) -> list[SeenEarlier]:
    """Return what a post said before, newest first, for the pages of moderation alone.

    What it said under a clue that this moderator may not read yet is left out.
    """
    found = post.earlier_words.filter(clue__in=readable_clues(moderator, now))
    return [
        SeenEarlier(number=row.clue.number, at=row.at, words=row.words, alt=row.alt)
        for row in found.select_related("clue")
    ]


def photographed(viewer: Participant, now: datetime) -> QuerySet[Post]:
    """Return the posts whose photo the viewer may have: open ones, and all that they moderate."""
    shown = posts_for(viewer, now).filter(Q(is_open=True) | Q(author=viewer))
    if viewer.moderates:
        shown = moderated(Post, viewer, now)
    return shown.exclude(photo="")


def moderated(kind: type[Thing], moderator: Participant, now: datetime) -> QuerySet[Any]:
    """Return what of a kind this person may moderate, hidden or not.

    A moderator never learns of a clue early; what is about one exists for the organisers alone.
    """
    clue = "question__clue" if kind is Answer else "clue"
    found = kind._default_manager.filter(**{f"{clue}__in": readable_clues(moderator, now)})
    return found.select_related("author__user", "author__knit_along", clue, "hidden_by")


def _shown_to(viewer: Participant) -> Q:
    return Q(hidden_at=None) | Q(author=viewer)


def _ready[T: (Post, Question)](found: QuerySet[T], viewer: Participant, kind: str) -> QuerySet[T]:
    found = found.select_related("author__user", "clue")
    return found.annotate(is_open=_is_open(viewer, kind))  # type: ignore[no-redef]


def _is_open(viewer: Participant, kind: str) -> Case:
    if viewer.reads_early:
        return Case(default=Value(True))
    opened = Opening.objects.filter(participant=viewer, revision__clue=OuterRef("clue"))
    unveiled = Unveiling.objects.filter(participant=viewer, **{kind: OuterRef("pk")})
    return Case(When(Exists(opened) | Exists(unveiled), then=Value(True)), default=Value(False))


def _seen(thing: Thing, viewer: Participant, cover: str) -> dict[str, Any]:
    return {
        "key": thing.key,
        "number": thing.clue.number,
        "author": str(thing.author.user),
        "at": thing.at,
        "is_own": thing.author_id == viewer.pk,
        "cover": cover,
        "words": "" if cover else thing.words,
        "is_hidden": thing.is_hidden,
        "hidden_why": thing.hidden_why,
    }


def _cover_of_post(post: Post) -> str:
    if post.is_finished:
        return _("A finished object, and you have not opened clue %(number)s, the last one") % {
            "number": post.clue.number
        }
    return _("A post about clue %(number)s, which you have not opened") % {
        "number": post.clue.number
    }


def cover_of_question(question: Question) -> str:
    return _("A question about clue %(number)s, which you have not opened") % {
        "number": question.clue.number
    }
