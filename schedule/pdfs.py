"""Is an uploaded PDF one that can be handed to thousands of people?"""

import logging
import time
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from pypdf import PdfReader
from pypdf.errors import DependencyError, LimitReachedError, PyPdfError
from pypdf.generic import (
    ArrayObject,
    DictionaryObject,
    IndirectObject,
    NameObject,
    NullObject,
    PdfObject,
)

from schedule.errors import FileRefused

# What pypdf raises on files that are broken, by accident or on purpose.
BROKEN = (
    *(PyPdfError, OSError, ValueError, LookupError, TypeError, AttributeError),
    *(RecursionError, MemoryError, ArithmeticError, AssertionError),
    *(NotImplementedError, DependencyError),
)
MAX_PAGES = 200  # our choice: one clue of a shawl is a few pages
MAX_OBJECTS = 200_000  # our choice: a file past this takes minutes to look through
# Bytes of drawing once unpacked, all pages together; our choice: a dense chart takes about one
# million, and pypdf itself stops one stream at 75 million.
MAX_UNPACKED = 150_000_000
MAX_SECONDS = 20.0  # our choice: the patience of whoever waits for the upload

ENCRYPTED = _(
    "That PDF is encrypted; export it without a password or restrictions, so "
    "that everybody can open and print it."
)
UNPACKS_TO_TOO_MUCH = _("That PDF unpacks to more than can be checked; export it again, simpler.")

# ISO 32000-2: 12.6.4 action types, 12.6.3 triggers, 7.11.4 embedded files, 13.2 media, 12.7.9 XFA.
ACTIVE_ACTIONS = frozenset(
    {"/JavaScript", "/Launch", "/SubmitForm", "/ImportData", "/Rendition", "/RichMediaExecute"}
    | {"/GoToE"}  # into a file packed inside
)
ACTIVE_KEYS = {
    "/JavaScript": _("scripts"),
    "/JS": _("scripts"),
    "/AA": _("actions that run by themselves"),
    "/EmbeddedFiles": _("other files packed inside"),
    "/EF": _("other files packed inside"),
    "/EmbeddedFile": _("other files packed inside"),
    "/RichMedia": _("embedded media"),
    "/XFA": _("a scripted form"),
}


@dataclass(frozen=True)
class PdfFacts:
    pages: int


def check_pdf(data: bytes) -> PdfFacts:
    """Return what there is to know of a PDF; FileRefused with the reason if it is unsafe.

    Refused: what is not a PDF or cannot be read, encrypted files, more than 200 pages, and
    anything that acts by itself or carries other files: scripts, launches, forms that send.
    Refused too is what takes much memory or time to look through.
    """
    if not data.startswith(b"%PDF-"):
        raise FileRefused(
            gettext("That file is not a PDF; export the pattern as PDF and choose that.")
        )
    logging.getLogger("pypdf").setLevel(logging.ERROR)
    deadline = time.monotonic() + MAX_SECONDS
    try:
        reader = PdfReader(BytesIO(data), strict=False)
        _refuse_encrypted(reader)
        pages = _pages(reader, deadline)
        _refuse_active(reader, deadline)
    except FileRefused:
        raise
    except LimitReachedError:
        raise FileRefused(UNPACKS_TO_TOO_MUCH) from None
    except BROKEN:
        # What pypdf cannot decrypt looks broken to it. The key is never compressed (7.5.8.2).
        if b"/Encrypt" in data:
            raise FileRefused(ENCRYPTED) from None
        raise FileRefused(
            gettext(
                "That PDF is damaged and cannot be read to its end; export it again and "
                "choose that."
            )
        ) from None
    return PdfFacts(pages)


def _refuse_encrypted(reader: PdfReader) -> None:
    if reader.is_encrypted:
        raise FileRefused(ENCRYPTED)


def _refuse_late(deadline: float) -> None:
    if time.monotonic() > deadline:
        raise FileRefused(
            gettext("That PDF takes too long to look through; export it again, simpler.")
        )


def _pages(reader: PdfReader, deadline: float) -> int:
    pages = len(reader.pages)
    if not pages:
        raise FileRefused(gettext("That PDF has no pages; export it again and choose that."))
    if pages > MAX_PAGES:
        raise FileRefused(
            gettext("That PDF has {pages} pages and the limit is {max_pages}; split it.").format(
                pages=pages, max_pages=MAX_PAGES
            )
        )
    unpacked = 0
    for page in reader.pages:
        # A page whose content cannot be decoded prints as a blank; better to know now.
        contents = page.get_contents()
        unpacked += 0 if contents is None else len(contents.get_data())
        if unpacked > MAX_UNPACKED:
            raise FileRefused(UNPACKS_TO_TOO_MUCH)
        _refuse_late(deadline)
    return pages


def _refuse_active(reader: PdfReader, deadline: float) -> None:
    for dictionary in _dictionaries(reader, deadline):
        if what := _active_part(dictionary):
            raise FileRefused(
                gettext(
                    "That PDF carries {what}; export it as a plain PDF (PDF/A has none) and "
                    "choose that."
                ).format(what=what)
            )


def _active_part(dictionary: DictionaryObject) -> str:
    # get() leaves a reference as such, so that a name elsewhere in the file would go unseen.
    action = dictionary.get("/S", NullObject()).get_object()
    if isinstance(action, NameObject) and action in ACTIVE_ACTIONS:
        return gettext("scripts or actions")
    return str(next((what for key, what in ACTIVE_KEYS.items() if key in dictionary), ""))


def _dictionaries(reader: PdfReader, deadline: float) -> Iterator[DictionaryObject]:
    """Every dictionary that can be reached from the trailer, each once."""
    waiting: list[PdfObject | None] = [reader.trailer]
    seen: set[tuple[int, int]] = set()
    count = 0
    while waiting:
        item = waiting.pop()
        if isinstance(item, IndirectObject):
            if (item.idnum, item.generation) in seen:
                continue
            seen.add((item.idnum, item.generation))
            item = item.get_object()
        count += 1
        _refuse_late(deadline)
        if count > MAX_OBJECTS:
            raise FileRefused(
                gettext(
                    "That PDF is built of too many parts to be checked; export it again, simpler."
                )
            )
        if isinstance(item, DictionaryObject):
            yield item
            waiting.extend(item.raw_get(key) for key in item)
        elif isinstance(item, ArrayObject):
            waiting.extend(list.__iter__(item))  # unlike its own, this leaves references as such
