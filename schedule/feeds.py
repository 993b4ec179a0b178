"""A knit-along's dates as a calendar (RFC 5545) and its news as a feed (RFC 4287).

Both say only what they are handed, and that must be what anybody may know: a feed is fetched
by programs that keep it, so nothing in it can be taken back.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING, Final
from xml.etree import ElementTree as ET

from schedule.errors import ScheduleError

if TYPE_CHECKING:
    from icalendar import Event, Timezone

ATOM: Final = "http://www.w3.org/2005/Atom"
# RFC 5545, 3.7.3: the program that wrote the file, in any form that is its own.
PRODUCT: Final = "-//knitalong-host//schedule//EN"
# RFC 7986, 5.7. Our choice: a moved clue is seen the same morning.
REFRESH: Final = timedelta(hours=1)

# What both formats can hold: XML 1.0 (5th ed.), 2.2 Char, less DEL, a control in RFC 5545, 3.1.
_NOT_TEXT = re.compile("[^\t\n\\x20-\\x7e\\x80-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
# RFC 3986, 3.1 and 4.3: an absolute address begins with its scheme.
_ABSOLUTE = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:\S+")


class BadFeed(ScheduleError):
    """What was handed in cannot be a calendar or a feed."""


class Status(StrEnum):
    """How certain an event is; RFC 5545, 3.8.1.11."""

    CONFIRMED = "CONFIRMED"
    TENTATIVE = "TENTATIVE"
    CANCELLED = "CANCELLED"


@dataclass(frozen=True, slots=True)
class CalendarEvent:
    """One date: `uid` never changes, `sequence` counts the times it was moved or called off.

    An event without `ends_at` is an instant. BadFeed when a time has no zone, the end is before
    the start, or the uid is empty.
    """

    uid: str
    summary: str
    starts_at: datetime
    changed_at: datetime
    """When anything that is said here last changed: DTSTAMP and LAST-MODIFIED."""
    sequence: int = 0
    ends_at: datetime | None = None
    description: str = ""
    url: str = ""
    status: Status = Status.CONFIRMED

    def __post_init__(self) -> None:
        if not plain(self.uid).strip() or self.sequence < 0:
            raise BadFeed(f"Event {self.uid!r} needs a uid, and a sequence of 0 or more.")
        if self.ends_at is not None and to_utc(self.ends_at) < to_utc(self.starts_at):
            raise BadFeed(f"Event {self.uid!r} ends before it starts.")


@dataclass(frozen=True, slots=True)
class AtomEntry:
    """One piece of news: `id` is an absolute address that never changes, wherever it moves to."""

    id: str
    title: str
    url: str
    updated_at: datetime
    published_at: datetime | None = None
    summary: str = ""


@dataclass(frozen=True, slots=True)
class AtomFeed:
    """What a feed says of itself: its own address, the page it belongs to, and who writes it."""

    id: str
    title: str
    author: str
    self_url: str
    page_url: str
    updated_at: datetime
    """When it last changed other than by an entry; the newest of this and all entries counts."""


def calendar_bytes(name: str, events: Sequence[CalendarEvent]) -> bytes:
    """Return an iCalendar file of the events, in UTC, which no change of clocks can shift.

    Source: RFC 5545, with the NAME and REFRESH-INTERVAL of RFC 7986. BadFeed when two events
    share a uid.
    """
    from icalendar import Calendar  # takes long to load, and no page of the site needs it

    _refuse_repeats(event.uid for event in events)
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("name", _one_line(name))
    calendar.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    for event in events:
        calendar.add_component(_component(event))
    if not events:
        calendar.add_component(_utc())
    return bytes(calendar.to_ical())


def _component(event: CalendarEvent) -> "Event":
    from icalendar import Event

    component = Event()
    component.add("uid", _one_line(event.uid))
    component.add("dtstamp", to_utc(event.changed_at))
    component.add("last-modified", to_utc(event.changed_at))
    component.add("sequence", event.sequence)
    starts, ends = to_utc(event.starts_at), to_utc(event.ends_at or event.starts_at)
    component.add("dtstart", starts)
    if ends > starts:
        component.add("dtend", ends)
    component.add("summary", _one_line(event.summary))
    if event.description:
        component.add("description", plain(event.description))
    if event.url:
        component.add("url", _address(event.url))
    component.add("status", event.status.value)
    # It takes none of the reader's time: RFC 5545, 3.8.2.7.
    component.add("transp", "TRANSPARENT")
    return component


def _utc() -> "Timezone":
    """Return a time zone, for RFC 5545, 3.4 and 3.6 ask for one component at the least."""
    from icalendar import Timezone, TimezoneStandard

    standard = TimezoneStandard()
    standard.add("dtstart", datetime(1970, 1, 1))  # noqa: DTZ001  local time by 3.6.5
    standard.add("tzoffsetfrom", timedelta(0))
    standard.add("tzoffsetto", timedelta(0))
    zone = Timezone()
    zone.add("tzid", "UTC")
    zone.add_component(standard)
    return zone


def atom_bytes(feed: AtomFeed, entries: Sequence[AtomEntry]) -> bytes:
    """Return an Atom feed in UTF-8, entries in the order given.

    Source: RFC 4287. BadFeed when two entries share an id, an address is not absolute, a time
    has no zone, or nobody is named as the author.
    """
    _refuse_repeats(entry.id for entry in entries)
    root = ET.Element("feed", {"xmlns": ATOM})
    updated = [to_utc(feed.updated_at), *(to_utc(entry.updated_at) for entry in entries)]
    _add(root, "id", _address(feed.id))
    _add(root, "title", _one_line(feed.title))
    _add(root, "updated", _rfc3339(max(updated)))
    _add(ET.SubElement(root, "author"), "name", _named(feed.author))
    ET.SubElement(root, "link", {"rel": "self", "href": _address(feed.self_url)})
    ET.SubElement(root, "link", {"rel": "alternate", "href": _address(feed.page_url)})
    for entry in entries:
        _add_entry(root, entry)
    return bytes(ET.tostring(root, encoding="utf-8", xml_declaration=True))


def _add_entry(root: ET.Element, entry: AtomEntry) -> None:
    element = ET.SubElement(root, "entry")
    _add(element, "id", _address(entry.id))
    _add(element, "title", _one_line(entry.title))
    _add(element, "updated", _rfc3339(entry.updated_at))
    if entry.published_at is not None:
        _add(element, "published", _rfc3339(entry.published_at))
    ET.SubElement(element, "link", {"rel": "alternate", "href": _address(entry.url)})
    if entry.summary:
        _add(element, "summary", plain(entry.summary))


def _add(parent: ET.Element, tag: str, text: str) -> None:
    ET.SubElement(parent, tag).text = text


def plain(text: str) -> str:
    """Return the text without what the formats cannot hold; every line break is one newline."""
    kept = _NOT_TEXT.sub("", text.replace("\r\n", "\n").replace("\r", "\n"))
    # The calendar library writes a typed \N as a line break, so it is one in both formats.
    return kept.replace("\\N", "\n")


def _one_line(text: str) -> str:
    return " ".join(plain(text).split())


def to_utc(instant: datetime) -> datetime:
    """Return the instant in UTC to the second; BadFeed when it has no zone."""
    if instant.utcoffset() is None:
        raise BadFeed(f"{instant:%Y-%m-%d %H:%M} has no time zone, so it is no instant.")
    return instant.astimezone(UTC).replace(microsecond=0)


def _rfc3339(instant: datetime) -> str:
    return f"{to_utc(instant):%Y-%m-%dT%H:%M:%SZ}"


def _address(text: str) -> str:
    if not _ABSOLUTE.fullmatch(text) or plain(text) != text:
        raise BadFeed(f"{text!r} is not an absolute address.")
    return text


def _named(author: str) -> str:
    if name := _one_line(author):
        return name
    raise BadFeed("A feed needs the name of its author.")


def _refuse_repeats(names: Iterable[str]) -> None:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise BadFeed(f"{name!r} is there twice; each must be of its own.")
        seen.add(name)
