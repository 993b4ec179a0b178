"""Reading a shop's list of buyers: a CSV file whose rows are good, or named with what is wrong."""

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.utils.translation import gettext as _

# Our choice: several knit-alongs' worth of buyers, read within a second.
MOST_ROWS: Final = 20_000
MOST_BYTES: Final = 4_000_000
MOST_NAME, MOST_REFERENCE, MOST_ADDRESS = 80, 60, 254

# What a column may be called, in small letters; common practice of shops' exports.
COLUMNS: Final = {
    "email": ("mail address", "email", "e-mail", "email address", "e-mail address", "mail"),
    "name": ("name", "buyer", "customer", "customer name", "billing name"),
    "order": ("order", "order reference", "order number", "order no", "order id", "reference"),
}
DELIMITERS: Final = (",", ";", "\t")


class BadBuyersFile(ValueError):
    """The file as a whole cannot be read; the message says why and what would do."""


@dataclass(frozen=True, slots=True)
class Buyer:
    """One good row."""

    email: str
    name: str
    order: str


@dataclass(slots=True)
class BuyersFile:
    """What a file holds: good rows, each address once, and a sentence for every other row."""

    buyers: list[Buyer] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)


def read_buyers_file(content: bytes) -> BuyersFile:
    """Return the rows of a CSV file in UTF-8; BadBuyersFile when there is no reading it.

    Columns are found by the names in its first line, or taken as address, name and order when the
    first line holds an address itself. Separated by commas, semicolons or tabs.
    """
    text = _decoded(content)
    first_line = text.partition("\n")[0]
    delimiter = max(DELIMITERS, key=first_line.count)
    rows = _rows(text, delimiter)
    _number, heading = next(rows, (1, []))
    places = _places(heading)
    found, seen = BuyersFile(), dict[str, int]()
    if "@" in "".join(heading):
        _take(1, heading, places, found, seen)
    for number, row in rows:
        if number > MOST_ROWS + 1:
            raise BadBuyersFile(
                _("The file has more than %(most)d rows; split it and import the parts.")
                % {"most": MOST_ROWS}
            )
        if any(cell.strip() for cell in row):
            _take(number, row, places, found, seen)
    if not (found.buyers or found.faults):
        raise BadBuyersFile(_("The file names its columns but no buyer; export it once more."))
    return found


def _decoded(content: bytes) -> str:
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise BadBuyersFile(
            _("The file is UTF-16 text; save it as “CSV UTF-8” and choose it again.")
        )
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise BadBuyersFile(
            _("Line %(line)d is not UTF-8 text; save the file as “CSV UTF-8” and choose it again.")
            % {"line": line}
        ) from None
    if "\0" in text:
        raise BadBuyersFile(_("This is no text file; export the list as CSV and choose that."))
    if not text.strip():
        raise BadBuyersFile(_("The file is empty; choose the exported list."))
    return text


def _rows(text: str, delimiter: str) -> Iterator[tuple[int, Sequence[str]]]:
    """Yield each row with the number of its first line, so that it is found in an editor."""
    reader = csv.reader(text.splitlines(keepends=True), delimiter=delimiter)
    number = 1
    while True:
        try:
            row = next(reader, None)
        except csv.Error:
            raise BadBuyersFile(
                _("Row %(row)d is longer than any row should be; is a quotation mark left open?")
                % {"row": number}
            ) from None
        if row is None:
            return
        yield number, row
        number = reader.line_num + 1


def _places(heading: Sequence[str]) -> dict[str, int]:
    """Return in which column what stands."""
    names = [cell.strip().lower().replace("_", " ") for cell in heading]
    places = {
        what: names.index(known)
        for what, words in COLUMNS.items()
        for known in reversed(words)
        if known in names
    }
    if "email" in places:
        return places
    if heading and "@" in heading[0]:
        return {"email": 0, "name": 1, "order": 2}
    raise BadBuyersFile(
        _("No column is called “mail address” or “email”; name the columns in the first line.")
    )


def _take(
    number: int,
    row: Sequence[str],
    places: dict[str, int],
    found: BuyersFile,
    seen: dict[str, int],
) -> None:
    """Add a row to the buyers, or a sentence about it to the faults."""
    cells = {
        what: " ".join(row[place].split()) if place < len(row) else ""
        for what, place in places.items()
    }
    email, name, order = cells["email"].lower(), cells.get("name", ""), cells.get("order", "")
    if fault := _fault(email, name, order):
        found.faults.append(_("Row %(row)d: %(fault)s") % {"row": number, "fault": fault})
    elif email in seen:
        found.faults.append(
            _("Row %(row)d: %(email)s stands in row %(first)d already; it gets one place.")
            % {"row": number, "email": email, "first": seen[email]}
        )
    else:
        seen[email] = number
        found.buyers.append(Buyer(email, name, order))


def _fault(email: str, name: str, order: str) -> str:
    """Return what is wrong with a row, '' for nothing."""
    if not email:
        return _("there is no mail address.")
    try:
        validate_email(email)
    except ValidationError:
        return _("“%(text)s” is not a mail address.") % {"text": email[:60]}
    if len(email) > MOST_ADDRESS:
        return _("the mail address is longer than %(most)d letters.") % {"most": MOST_ADDRESS}
    if len(name) > MOST_NAME:
        return _("the name is longer than %(most)d letters.") % {"most": MOST_NAME}
    if len(order) > MOST_REFERENCE:
        return _("the order reference is longer than %(most)d letters.") % {"most": MOST_REFERENCE}
    return ""
