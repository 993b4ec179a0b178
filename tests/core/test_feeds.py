"""Calendars and feeds, read back and held against RFC 5545 and RFC 4287 section by section."""

import dataclasses
import re
from datetime import UTC, datetime, timedelta
from typing import Any
from xml.etree import ElementTree as ET
from zoneinfo import ZoneInfo

import icalendar
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from schedule.feeds import (
    ATOM,
    AtomEntry,
    AtomFeed,
    BadFeed,
    CalendarEvent,
    Status,
    atom_bytes,
    calendar_bytes,
    plain,
)

LONDON, SYDNEY = ZoneInfo("Europe/London"), ZoneInfo("Australia/Sydney")
CHANGED = datetime(2027, 1, 4, 12, tzinfo=UTC)
# Wall times; the strategy adds the zones.
YEARS = (datetime(1990, 1, 1), datetime(2090, 1, 1))  # noqa: DTZ001


def make_event(number: int = 1, **changes) -> CalendarEvent:
    event = CalendarEvent(
        uid=f"clue-{number}.lantern-walk@knits.example",
        summary=f"The Lantern Walk: clue {number} goes out",
        starts_at=datetime(2027, 3, 14, 9, tzinfo=LONDON) + timedelta(weeks=number),
        changed_at=CHANGED,
        url=f"https://knits.example/k/lantern-walk/clues/{number}/",
    )
    return dataclasses.replace(event, **changes)


def make_feed(**changes) -> AtomFeed:
    feed = AtomFeed(
        id="tag:knits.example,2027:lantern-walk",
        title="The Lantern Walk",
        author="Hana",
        self_url="https://knits.example/k/lantern-walk/feed/",
        page_url="https://knits.example/k/lantern-walk/",
        updated_at=CHANGED,
    )
    return dataclasses.replace(feed, **changes)


def make_entry(number: int = 1, **changes) -> AtomEntry:
    entry = AtomEntry(
        id=f"tag:knits.example,2027:lantern-walk/clue-{number}",
        title=f"Clue {number} is out",
        url=f"https://knits.example/k/lantern-walk/clues/{number}/",
        updated_at=datetime(2027, 3, 14, 9, tzinfo=LONDON) + timedelta(weeks=number),
    )
    return dataclasses.replace(entry, **changes)


def read(data: bytes) -> Any:
    calendar = icalendar.Calendar.from_ical(data)
    assert [part.errors for part in calendar.walk() if part.errors] == []
    return calendar


def read_event(event: CalendarEvent) -> Any:
    (component,) = read(calendar_bytes("Walk", [event])).walk("VEVENT")
    return component


class TestCalendar:
    def test_has_what_every_calendar_must(self):
        """RFC 5545, 3.6: PRODID and VERSION once each, and 3.7.4: the version is 2.0."""
        calendar = read(calendar_bytes("The Lantern Walk", [make_event()]))
        assert calendar["VERSION"] == "2.0"
        assert re.fullmatch(r"-//.+//.+//EN", calendar["PRODID"])
        assert calendar["NAME"] == "The Lantern Walk"  # RFC 7986, 5.1

    def test_refreshes_as_a_duration(self):
        """RFC 7986, 5.7: the value type must be said."""
        assert b"\r\nREFRESH-INTERVAL;VALUE=DURATION:PT1H\r\n" in calendar_bytes("Walk", [])

    def test_each_event_has_what_it_must(self):
        """RFC 5545, 3.6.1: UID and DTSTAMP; DTSTART too where no METHOD is given."""
        calendar = read(calendar_bytes("Walk", [make_event(n) for n in range(1, 4)]))
        assert "METHOD" not in calendar
        for number, event in enumerate(calendar.walk("VEVENT"), 1):
            assert event["UID"] == make_event(number).uid
            assert event["DTSTAMP"].dt == CHANGED
            assert event["DTSTART"].dt == make_event(number).starts_at
            assert event["URL"] == make_event(number).url
            assert "DTEND" not in event  # 3.6.1: then it ends as it begins

    def test_a_change_keeps_the_uid_and_raises_the_sequence(self):
        """RFC 5545, 3.8.7.4, and 3.8.4.7 for the UID."""
        later = CHANGED + timedelta(days=3)
        moved = make_event(starts_at=datetime(2027, 3, 22, 9, tzinfo=LONDON))
        event = read_event(dataclasses.replace(moved, sequence=2, changed_at=later))
        assert (event["UID"], event["SEQUENCE"]) == (make_event().uid, 2)
        assert event["DTSTAMP"].dt == event["LAST-MODIFIED"].dt == later

    @pytest.mark.parametrize("status", Status)
    def test_status_is_one_of_the_three_for_events(self, status):
        """RFC 5545, 3.8.1.11."""
        assert read_event(make_event(status=status))["STATUS"] == status.value

    def test_takes_none_of_the_readers_time(self):
        """RFC 5545, 3.8.2.7."""
        assert read_event(make_event())["TRANSP"] == "TRANSPARENT"

    @pytest.mark.parametrize(
        ("local", "instant"),
        [
            # London's clocks go forward on 28 March 2027 and back on 31 October (tz database).
            (datetime(2027, 3, 21, 9, tzinfo=LONDON), "20270321T090000Z"),
            (datetime(2027, 3, 28, 9, tzinfo=LONDON), "20270328T080000Z"),
            (datetime(2027, 10, 31, 1, 30, tzinfo=LONDON), "20271031T003000Z"),
            (datetime(2027, 10, 31, 1, 30, fold=1, tzinfo=LONDON), "20271031T013000Z"),
            # Sydney's go back on 4 April.
            (datetime(2027, 4, 3, 9, tzinfo=SYDNEY), "20270402T220000Z"),
            (datetime(2027, 4, 4, 9, tzinfo=SYDNEY), "20270403T230000Z"),
        ],
    )
    def test_instants_are_utc_either_side_of_a_change_of_clocks(self, local, instant):
        """RFC 5545, 3.3.5, form 2."""
        data = calendar_bytes("Walk", [make_event(starts_at=local)])
        assert f"\r\nDTSTART:{instant}\r\n".encode() in data

    def test_a_span_has_an_end(self):
        """RFC 5545, 3.8.2.2: later than the start."""
        ends = make_event().starts_at + timedelta(days=10)
        assert read_event(make_event(ends_at=ends))["DTEND"].dt == ends
        assert "DTEND" not in read_event(make_event(ends_at=make_event().starts_at))

    def test_a_calendar_without_events_still_has_a_component(self):
        """RFC 5545, 3.4 and 3.6: at least one; 3.6.5: a time zone needs a STANDARD part."""
        calendar = read(calendar_bytes("Walk", []))
        (zone,) = calendar.subcomponents
        (standard,) = zone.subcomponents
        assert (zone.name, zone["TZID"], standard.name) == ("VTIMEZONE", "UTC", "STANDARD")
        assert {"DTSTART", "TZOFFSETFROM", "TZOFFSETTO"} <= set(standard)

    @pytest.mark.parametrize("letter", ["a", "é", "毛", "\N{BALL OF YARN}"])
    def test_lines_fold_at_75_octets_and_never_inside_a_letter(self, letter):
        """RFC 5545, 3.1: lines end in CRLF and hold no more than 75 octets without it."""
        event = make_event(summary=letter * 300, description=letter * 301)
        data = calendar_bytes(letter * 99, [event])
        lines = data.split(b"\r\n")
        assert lines.pop() == b""
        assert max(map(len, lines)) <= 75
        assert b"\n" not in b"".join(lines)
        for line in lines:
            line.decode()
        assert read_event(event)["SUMMARY"] == letter * 300

    def test_text_is_escaped(self):
        """RFC 5545, 3.3.11: backslash, semicolon, comma and line break; a colon is left alone."""
        data = calendar_bytes("Walk", [make_event(description="a\\b;c,d\r\ne:f")])
        assert b"\r\nDESCRIPTION:a\\\\b\\;c\\,d\\ne:f\r\n" in data

    def test_words_cannot_add_a_property(self):
        event = read_event(make_event(summary="Clue 1\r\nATTACH:https://evil.example"))
        assert event["SUMMARY"] == "Clue 1 ATTACH:https://evil.example"
        assert "ATTACH" not in event

    @example(summary="\\N", description="a\\N b")
    @given(st.text(), st.text())
    def test_any_words_come_back(self, summary, description):
        event = read_event(make_event(summary=summary, description=description))
        assert str(event["SUMMARY"]) == " ".join(plain(summary).split())
        assert str(event.get("DESCRIPTION", "")) == plain(description)

    @given(st.datetimes(*YEARS, timezones=st.timezones()))
    def test_any_instant_comes_back(self, instant):
        starts = read_event(make_event(starts_at=instant))["DTSTART"].dt
        assert starts == instant.astimezone(UTC).replace(microsecond=0)

    def test_the_same_events_give_the_same_bytes(self):
        assert calendar_bytes("Walk", [make_event()]) == calendar_bytes("Walk", [make_event()])

    def test_impossible_events_are_refused(self):
        with pytest.raises(BadFeed, match="ends before it starts"):
            make_event(ends_at=make_event().starts_at - timedelta(seconds=1))
        with pytest.raises(BadFeed, match="needs a uid"):
            make_event(uid=" ")
        with pytest.raises(BadFeed, match="sequence of 0 or more"):
            make_event(sequence=-1)
        with pytest.raises(BadFeed, match="is there twice"):
            calendar_bytes("Walk", [make_event(), make_event()])
        with pytest.raises(BadFeed, match="2027-03-21 09:00 has no time zone"):
            calendar_bytes("Walk", [make_event(starts_at=datetime(2027, 3, 21, 9))])  # noqa: DTZ001
        with pytest.raises(BadFeed, match="not an absolute address"):
            calendar_bytes("Walk", [make_event(url="/k/lantern-walk/")])


def parse(data: bytes) -> ET.Element:
    root = ET.fromstring(data)
    assert root.tag == f"{{{ATOM}}}feed"
    return root


def text(parent: ET.Element, tag: str) -> str:
    """Return the text of a child that must be there exactly once."""
    (child,) = parent.findall(f"{{{ATOM}}}{tag}")
    return child.text or ""


def links(parent: ET.Element) -> dict[str | None, str | None]:
    return {link.get("rel"): link.get("href") for link in parent.findall(f"{{{ATOM}}}link")}


class TestAtom:
    def test_feed_has_what_it_must(self):
        """RFC 4287, 4.1.1: one id, title and updated, an author; a link to itself should be."""
        root = parse(atom_bytes(make_feed(), []))
        assert text(root, "id") == make_feed().id
        assert text(root, "title") == "The Lantern Walk"
        assert text(root, "updated") == "2027-01-04T12:00:00Z"
        (author,) = root.findall(f"{{{ATOM}}}author")
        assert text(author, "name") == "Hana"  # 3.2.1
        assert links(root) == {"self": make_feed().self_url, "alternate": make_feed().page_url}

    def test_entries_have_what_they_must(self):
        """RFC 4287, 4.1.2: id, title, updated, and a link where there is no content."""
        root = parse(
            atom_bytes(make_feed(), [make_entry(2, summary="Come and see."), make_entry(1)])
        )
        entries = root.findall(f"{{{ATOM}}}entry")
        assert [text(entry, "id") for entry in entries] == [make_entry(2).id, make_entry(1).id]
        assert [text(entry, "title") for entry in entries] == ["Clue 2 is out", "Clue 1 is out"]
        assert [links(entry) for entry in entries] == [
            {"alternate": make_entry(2).url},
            {"alternate": make_entry(1).url},
        ]
        assert text(entries[0], "summary") == "Come and see."
        assert entries[1].find(f"{{{ATOM}}}summary") is None

    def test_dates_are_utc_with_capital_letters(self):
        """RFC 4287, 3.3: an RFC 3339 date-time. London is an hour ahead from 28 March 2027."""
        entry = make_entry(2, published_at=datetime(2027, 3, 21, 9, 0, 0, 999, tzinfo=LONDON))
        (element,) = parse(atom_bytes(make_feed(), [entry])).findall(f"{{{ATOM}}}entry")
        assert text(element, "updated") == "2027-03-28T08:00:00Z"
        assert text(element, "published") == "2027-03-21T09:00:00Z"

    def test_feed_is_as_new_as_its_newest_entry(self):
        root = parse(atom_bytes(make_feed(), [make_entry(n) for n in (1, 3, 2)]))
        assert text(root, "updated") == "2027-04-04T08:00:00Z"

    def test_a_changed_entry_keeps_its_id(self):
        """RFC 4287, 4.2.6: it stays when the entry moves or is updated."""
        moved = make_entry(
            1, url="https://other.example/1", updated_at=CHANGED, title="Clue 1, mended"
        )
        (element,) = parse(atom_bytes(make_feed(), [moved])).findall(f"{{{ATOM}}}entry")
        assert text(element, "id") == make_entry(1).id

    def test_bytes_are_utf_8_and_say_so(self):
        data = atom_bytes(make_feed(title="Пряжа 毛糸"), [])
        assert data.startswith(b"<?xml version='1.0' encoding='utf-8'?>")
        assert "Пряжа 毛糸" in data.decode("utf-8")

    def test_markup_stays_text(self):
        """RFC 4287, 3.1.1.1: a text construct without a type is plain text."""
        title = "</title><link href='https://evil.example'/>&amp;"
        root = parse(atom_bytes(make_feed(title=title), [make_entry(title=title)]))
        assert text(root, "title") == title
        assert len(root.findall(f"{{{ATOM}}}link")) == 2

    @given(st.text(), st.text())
    def test_any_words_come_back(self, title, summary):
        root = parse(atom_bytes(make_feed(), [make_entry(title=title, summary=summary)]))
        (entry,) = root.findall(f"{{{ATOM}}}entry")
        assert text(entry, "title") == " ".join(plain(title).split())
        if summary:
            assert text(entry, "summary") == plain(summary)

    def test_the_same_entries_give_the_same_bytes(self):
        entries = [make_entry(1), make_entry(2)]
        assert atom_bytes(make_feed(), entries) == atom_bytes(make_feed(), entries)

    @pytest.mark.parametrize("address", ["", "clue-1", "/clues/1/", "https://a b", "tag:x\x00y"])
    def test_addresses_must_be_absolute(self, address):
        """RFC 4287, 4.2.6 for ids."""
        with pytest.raises(BadFeed, match="not an absolute address"):
            atom_bytes(make_feed(), [make_entry(id=address)])
        with pytest.raises(BadFeed, match="not an absolute address"):
            atom_bytes(make_feed(self_url=address), [])

    def test_impossible_feeds_are_refused(self):
        with pytest.raises(BadFeed, match="is there twice"):
            atom_bytes(make_feed(), [make_entry(), make_entry()])
        with pytest.raises(BadFeed, match="name of its author"):
            atom_bytes(make_feed(author=" \n"), [])
        with pytest.raises(BadFeed, match="no time zone"):
            atom_bytes(make_feed(updated_at=datetime(2027, 1, 1)), [])  # noqa: DTZ001
