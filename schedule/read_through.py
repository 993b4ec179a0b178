"""A clue line by line as an early reader comments on it."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from kal.models import Participant
from schedule.drafts import Draft, draft_of_revision
from schedule.models import Clue, ReaderComment, Revision
from schedule.models.read_through import early_readers_of, newest_sign_offs

type Place = tuple[int, int, int]


@dataclass(frozen=True)
class ReadLine:
    """One line of the Markdown with what was said of it; `place` is section, way and line."""

    place: Place
    text: str
    comments: tuple[ReaderComment, ...]

    @property
    def anchor(self) -> str:
        return "-".join(map(str, self.place))


@dataclass(frozen=True)
class ReadText:
    title: str
    lines: tuple[ReadLine, ...]


@dataclass(frozen=True)
class ReaderState:
    """Whether a reader has signed the newest revision off, or which older one."""

    name: str
    revision: int | None
    at: datetime | None
    is_current: bool


@dataclass(frozen=True)
class ReadThrough:
    revision: Revision
    texts: tuple[ReadText, ...]
    earlier: tuple[ReaderComment, ...]
    readers: tuple[ReaderState, ...]

    def line_at(self, place: Place) -> ReadLine | None:
        return next(
            (line for text in self.texts for line in text.lines if line.place == place), None
        )


def read_through(clue: Clue) -> ReadThrough | None:
    """Return the newest revision with every comment, or None while nothing is written.

    `earlier` are comments on older revisions that nobody has resolved yet.
    """
    newest = clue.revision
    if newest is None:
        return None
    comments = ReaderComment.objects.filter(revision__clue=clue)
    comments = comments.select_related("reader__user", "answered_by", "revision")
    by_place: dict[Place, list[ReaderComment]] = defaultdict(list)
    for comment in comments.filter(revision=newest):
        by_place[comment.place].append(comment)
    texts = tuple(
        ReadText(title, tuple(_lines(section, way, body, by_place)))
        for title, section, way, body in _texts(draft_of_revision(newest))
    )
    earlier = comments.exclude(revision=newest).unresolved()
    return ReadThrough(newest, texts, tuple(earlier), reader_states(clue, newest))


def reader_states(clue: Clue, newest: Revision) -> tuple[ReaderState, ...]:
    signed = newest_sign_offs(clue.pk)
    return tuple(
        _state(reader, *signed.get(reader.pk, (None, None)), newest=newest.number)
        for reader in early_readers_of(clue.knit_along_id)
    )


def _state(
    reader: Participant, revision: int | None, at: datetime | None, *, newest: int
) -> ReaderState:
    return ReaderState(str(reader.user), revision, at, is_current=revision == newest)


def _texts(draft: Draft) -> Iterator[tuple[str, int, int, str]]:
    if draft.body.strip():
        yield _("Opening text"), 0, 0, draft.body
    for place, section in enumerate(draft.sections, start=1):
        name = section.title or _("Section %(place)s") % {"place": place}
        for number, way in enumerate(section.ways, start=1):
            yield f"{name}: {way.name}" if way.name else name, place, number, way.body


def _lines(
    section: int, way: int, body: str, by_place: dict[Place, list[ReaderComment]]
) -> Iterator[ReadLine]:
    for number, text in enumerate(body.splitlines(), start=1):
        if text.strip():
            place = section, way, number
            yield ReadLine(place, text, tuple(by_place.get(place, ())))
