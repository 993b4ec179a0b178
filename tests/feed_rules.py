"""What RFC 5545 and RFC 4287 ask of every file, checked line by line and element by element.

Written from the texts of the RFCs, apart from the libraries that write and read the feeds.
"""

import re
from typing import Any
from xml.etree import ElementTree as ET

import icalendar

ATOM = "{http://www.w3.org/2005/Atom}"
# RFC 5545, 3.1: name, parameters and value of a content line, unfolded; 3.3.5, form 2.
LINE = re.compile(
    r'[A-Z0-9-]+(;[A-Z0-9-]+=("[^"\x00-\x1f]*"|[^;:,"\x00-\x1f]*))*:[^\x00-\x08\x0a-\x1f\x7f]*'
)
UTC = re.compile(r"\d{8}T\d{6}Z")
# RFC 3339, 5.6, as RFC 4287, 3.3 wants it.
DATE = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)")
ONCE = ("UID", "DTSTAMP", "DTSTART", "SEQUENCE", "LAST-MODIFIED", "STATUS", "SUMMARY", "URL")


def read_calendar(data: bytes) -> dict[str, Any]:
    """Return the events by uid after holding the file against RFC 5545; a library reads it too."""
    check_lines(data)
    calendar = icalendar.Calendar.from_ical(data)
    assert [part.errors for part in calendar.walk() if part.errors] == []
    events = {str(event["UID"]): event for event in calendar.walk("VEVENT")}
    assert len(events) == len(calendar.walk("VEVENT"))  # 3.8.4.7: each uid once
    return events


def check_lines(data: bytes) -> None:
    text = data.decode("utf-8")
    assert text.endswith("\r\n")
    assert not re.search(r"(?<!\r)\n|\r(?!\n)", text)  # 3.1: lines end in CRLF and nothing else
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))  # 3.1, octets
    lines = re.sub(r"\r\n[ \t]", "", text).split("\r\n")[:-1]
    assert all(LINE.fullmatch(line) for line in lines)
    assert (lines[0], lines[-1]) == ("BEGIN:VCALENDAR", "END:VCALENDAR")
    assert [lines.count(line) for line in ("VERSION:2.0", "BEGIN:VCALENDAR")] == [1, 1]  # 3.6
    assert sum(line.startswith("PRODID:") for line in lines) == 1
    assert not any(line.startswith("METHOD") for line in lines)  # so DTSTART is required: 3.6.1
    for block in re.findall(r"BEGIN:VEVENT\n(.*?)\nEND:VEVENT", "\n".join(lines), re.DOTALL):
        names = [re.split("[;:]", line)[0] for line in block.split("\n")]
        assert [names.count(name) for name in ONCE] == [1] * len(ONCE), names
        for line in block.split("\n"):
            name, _, value = line.partition(":")
            if name in ("DTSTAMP", "DTSTART", "LAST-MODIFIED"):
                assert UTC.fullmatch(value), line


def read_news(data: bytes) -> list[ET.Element]:
    """Return the entries after holding the feed against RFC 4287, section 4."""
    assert data.startswith(b"<?xml")
    feed = ET.fromstring(data)
    assert feed.tag == f"{ATOM}feed"
    entries = feed.findall(f"{ATOM}entry")
    for element in (feed, *entries):
        for name in ("id", "title", "updated"):  # 4.1.1 and 4.1.2: exactly one each
            assert len(element.findall(ATOM + name)) == 1, name
        assert re.match(r"[a-z][a-z0-9+.-]*:\S+$", text(element, "id"))  # 4.2.6: an IRI
        for name in ("updated", "published"):
            assert all(DATE.fullmatch(date.text or "") for date in element.findall(ATOM + name))
        alternates = [
            link for link in element.findall(f"{ATOM}link") if link.get("rel") == "alternate"
        ]
        assert len(alternates) == 1  # 4.1.2: an entry without content needs one
    assert feed.findall(f"{ATOM}author/{ATOM}name")  # 4.1.1: or each entry needs its own
    assert [link.get("rel") for link in feed.findall(f"{ATOM}link")].count("self") == 1
    ids = [text(entry, "id") for entry in entries]
    assert len(set(ids)) == len(ids)  # 4.1.1: no two of one id with the same time; ours: of one id
    return entries


def text(element: ET.Element, name: str) -> str:
    return element.findtext(ATOM + name) or ""
