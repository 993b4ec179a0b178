"""Two organisers' edits of one clue in words: what was taken over, and what is to be chosen."""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.http import QueryDict
from django.utils.translation import gettext as _

from palettes.translator import listed
from schedule.comparing import Change, amount_line, file_names, lines_between, video_line
from schedule.drafts import Draft, MeetingDraft, PartDraft, SectionDraft, WayDraft
from schedule.merging import ORDER, SECRECY, Place, pieces_of, sections_in
from schedule.models import CountedPart, Meeting

ASKED, CHOICE = "asked", "choice_"
THEIRS, MINE = "theirs", "mine"
NAME = re.compile(r"[0-9A-Za-z_]{1,20}(\.[0-9A-Za-z]{1,12}){0,2}")


@dataclass(frozen=True)
class Question:
    """One text that both changed: theirs and mine side by side, and what was chosen so far."""

    place: Place
    changes: tuple[Change, ...]
    """One text, or none while what is typed cannot be read."""
    where: str
    chosen: str = ""

    @property
    def name(self) -> str:
        return ".".join(self.place)


@dataclass(frozen=True)
class Answers:
    """What a form says of the questions it was sent with."""

    places: tuple[Place, ...] = ()
    chosen: Mapping[Place, str] | None = None

    @property
    def theirs(self) -> list[Place]:
        return [place for place in self.places if self.of(place) == THEIRS]

    @property
    def open(self) -> list[Place]:
        """The questions that nobody has answered yet."""
        return [place for place in self.places if not self.of(place)]

    def of(self, place: Place) -> str:
        return (self.chosen or {}).get(place, "")


def answers_in(data: QueryDict) -> Answers:
    """Return the answers that a form holds; whatever is no place and no answer is passed over."""
    names = [name for name in dict.fromkeys(data.getlist(ASKED)) if NAME.fullmatch(name)]
    said = {tuple(name.split(".")): data.get(f"{CHOICE}{name}", "") for name in names}
    chosen = {place: word for place, word in said.items() if word in (THEIRS, MINE)}
    return Answers(tuple(said), chosen)


def questions_for(
    clue: int, places: Iterable[Place], theirs: Draft, mine: Draft | None, answers: Answers
) -> list[Question]:
    """Return the questions in words; `mine` is None while what is typed cannot be read."""
    words = Words(clue, theirs, mine or theirs)
    return [
        Question(place, words.changes(place) if mine else (), words.where(place), answers.of(place))
        for place in places
    ]


def changes_taken(
    clue: int, places: Iterable[Place], base: Draft, theirs: Draft
) -> tuple[Change, ...]:
    """Return what `theirs` changed of the beginning in the places."""
    words = Words(clue, base, theirs)
    return tuple(change for place in places for change in words.changes(place))


class Words:
    """The texts of two drafts of one clue, place by place, as lines to read."""

    def __init__(self, clue: int, first: Draft, second: Draft) -> None:
        shared = sections_in(first) & sections_in(second)
        self.files = file_names(clue)
        self.first, self.second = pieces_of(first, shared), pieces_of(second, shared)
        self.sections = {section.key: section for section in (*first.sections, *second.sections)}

    def changes(self, place: Place) -> tuple[Change, ...]:
        sides = (self._lines(place, side.get(place)) for side in (self.first, self.second))
        return (Change(self.where(place), lines_between(*sides)),)

    def where(self, place: Place) -> str:
        kind, *keys = place
        if keys and kind == "use":
            return _("Yarn %(letter)s") % {"letter": keys[0]}
        if keys and kind == "meeting":
            return _("Colours that meet: %(letters)s") % {"letters": listed(keys[0])}
        if keys and kind == "file":
            return _("File %(name)s") % {"name": self._file(keys[0])}
        if keys:
            return _where_in_section(kind, self._name(keys[0])) + self._way_name(place)
        return {
            "title": _("Title"),
            SECRECY: _("Whether the title is secret"),
            "body": _("Opening text"),
            "techniques": _("Techniques"),
            "videos": _("Videos"),
            ORDER: _("Order of the sections"),
        }.get(kind, "")

    def _name(self, key: str) -> str:
        section = self.sections.get(key)
        return (section and section.title) or _("Section without a title")

    def _file(self, pk: str) -> str:
        return self.files.get(int(pk), "?") if pk.isdecimal() else "?"

    def _way_name(self, place: Place) -> str:
        if place[0] != "way":
            return ""
        way = self._way(place)
        return f", {way.name}" if way and way.name else ""

    def _way(self, place: Place) -> WayDraft | None:
        way: WayDraft | None = self.second.get(place) or self.first.get(place)
        return way

    def _lines(self, place: Place, value: Any) -> list[str]:
        if value is None:
            return [_("not in the clue")]
        if place[0] == "file":
            return [value or self._file(place[1])]
        if place[0] == ORDER:
            return [self._named(key, place) for key in value]
        return list(_lines_of(place[0], value))

    def _named(self, key: str, place: Place) -> str:
        """Return the name of a section, or of a way if the order is that of a section's ways."""
        if len(place) == 1:
            return self._name(key)
        way = self._way(("way", place[1], key))
        return (way and (way.name or way.body[:40])) or "?"


def _where_in_section(kind: str, section: str) -> str:
    form = {
        "heading": _("%(name)s, heading"),
        "counts": _("%(name)s, rows as numbers"),
        ORDER: _("%(name)s, order of the ways"),
    }.get(kind, "%(name)s")
    return form % {"name": section}


def _lines_of(kind: str, value: Any) -> Iterator[str]:
    match kind:
        case "title_is_secret":
            yield _("secret until the clue is out") if value else _("shown before")
        case "use":
            yield amount_line(*value)
        case "heading":
            title, promises_choice = value
            yield title
            if promises_choice:
                yield _("The clue promises an easier way here")
        case "section":
            yield from _section_lines(value)
        case "way":
            yield from _way_lines(value)
        case "counts":
            yield from map(_part_line, value)
        case "meeting":
            yield from map(_meeting_line, value)
        case "videos":
            yield from map(video_line, value)
        case _:
            yield from str(value).splitlines()


def _section_lines(section: SectionDraft) -> Iterator[str]:
    yield from _lines_of("heading", (section.title, section.promises_choice))
    for way in section.ways:
        yield from _way_lines(way)
    yield from map(_part_line, section.parts)


def _way_lines(way: WayDraft) -> Iterator[str]:
    if head := ", ".join(filter(None, (way.name, way.technique))):
        yield head
    yield from way.body.splitlines()


def _part_line(part: PartDraft) -> str:
    named = f"{CountedPart.Kind(part.kind).label} {part.name}".strip()
    numbers = ", ".join(map(str, part.worked or part.changes)) or "0"
    repeat = (part.repeat_stitches or 0, part.repeat_edge, part.repeat_rows)
    ends = "" if part.states_end is None else f" → {part.states_end}"
    return (
        _(
            "%(named)s: from %(start)d stitches, %(rows)d rows (%(numbers)s), letters %(letters)s, "
            "repeat %(repeat)s"
        )
        % {
            "named": named,
            "start": part.start,
            "rows": part.rows,
            "numbers": numbers,
            "letters": part.letters,
            "repeat": "/".join(map(str, repeat)),
        }
        + ends
    )


def _meeting_line(meeting: MeetingDraft) -> str:
    needs = Meeting.Needs(meeting.needs).label
    return ", ".join(
        filter(None, (f"{meeting.first} {meeting.second}", meeting.technique, str(needs)))
    )
