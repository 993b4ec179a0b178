"""Words on paper: embedded fonts, text that fits, and letters the fonts do not have.

What is printed with people's own words draws on a canvas from here.
"""

import re
import threading
import unicodedata
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from pathlib import Path
from typing import Any, Final

FONTS: Final = Path(__file__).resolve().parent.parent / "fonts"
ROMAN: Final = "GentiumPlus"
ITALIC: Final = "GentiumPlus-Italic"
_FONT_FILES: Final = {ROMAN: "GentiumPlus-Regular.ttf", ITALIC: "GentiumPlus-Italic.ttf"}

# U+FFFD, which Unicode has for this: a diamond with a question mark, plainly not a letter.
MISSING: Final = "\N{REPLACEMENT CHARACTER}"
# Longer than any field that is printed; it bounds the work that hostile text can make.
LONGEST_TEXT = 1000
ELLIPSIS: Final = "\N{HORIZONTAL ELLIPSIS}"
_BREAKING_SPACE = re.compile(r"[^\S\N{NO-BREAK SPACE}]+")

# A reportlab font keeps what each document uses of it; only one document is drawn at a time.
_ONE_AT_A_TIME = threading.RLock()


@dataclass(frozen=True, slots=True)
class Fitted:
    """Text broken into lines that fit, all at one size in points."""

    lines: tuple[str, ...]
    size: float


@contextmanager
def drawing(
    buffer: BytesIO, size: tuple[float, float], *, title: str, language: str = "en-GB"
) -> Iterator[Any]:
    """Yield a canvas of `size` points and save it to `buffer`; equal drawings give equal bytes.

    `language` is what a screen reader speaks it in, a tag of BCP 47.
    """
    from reportlab.pdfgen.canvas import Canvas

    with _ONE_AT_A_TIME:
        _metrics(ROMAN)
        _metrics(ITALIC)
        canvas = Canvas(buffer, pagesize=size, invariant=1, initialFontName=ROMAN, lang=language)
        canvas.setTitle(printable(title))
        # reportlab would otherwise name an anonymous author and an unspecified subject.
        canvas.setAuthor("")
        canvas.setSubject("")
        canvas.setCreator("")
        canvas.setViewerPreference("DisplayDocTitle", "true")
        yield canvas
        canvas.save()


def printable(text: str) -> str:
    """Return `text` on one line with `MISSING` for each letter that the fonts do not have.

    Marks that would combine with such a letter go with it; controls and joiners are dropped.
    No-break spaces are kept.
    """
    letters: list[str] = []
    one_line = _BREAKING_SPACE.sub(" ", text[:LONGEST_TEXT]).strip()
    for letter in unicodedata.normalize("NFC", one_line):
        category = unicodedata.category(letter)
        if category in {"Cc", "Cf"}:
            continue
        if ord(letter) in _code_points():
            letters.append(letter)
        elif category[0] != "M" or not letters or letters[-1] != MISSING:
            letters.append(MISSING)
    return "".join(letters)


def text_width(text: str, font: str, size: float) -> float:
    """Return the width of printable text in points."""
    return float(_metrics(font).stringWidth(text, size))


def fit(text: str, font: str, width: float, sizes: Sequence[float], most_lines: int = 1) -> Fitted:
    """Return `text` at the first of `sizes` that fits `width` points on at most `most_lines`.

    At the last size, what still does not fit is cut short with an ellipsis.
    """
    words = printable(text)
    for size in sizes:
        lines = wrap(words, font, size, width)
        if len(lines) <= most_lines:
            return Fitted(lines, size)
    return Fitted(_cut(lines, font, size, width, most_lines), size)


def wrap(text: str, font: str, size: float, width: float) -> tuple[str, ...]:
    """Return printable text in lines no wider than `width`; a word too long for one is split."""
    lines = [""]
    for word in text.split(" "):
        joined = f"{lines[-1]} {word}".lstrip()
        if text_width(joined, font, size) <= width:
            lines[-1] = joined
        else:
            pieces = _split(word, font, size, width)
            lines = [*(lines if lines[-1] else lines[:-1]), *pieces]
    return tuple(lines)


def _split(word: str, font: str, size: float, width: float) -> list[str]:
    pieces = [""]
    for letter in word:
        if pieces[-1] and text_width(pieces[-1] + letter, font, size) > width:
            pieces.append("")
        pieces[-1] += letter
    return pieces


def _cut(
    lines: Sequence[str], font: str, size: float, width: float, most_lines: int
) -> tuple[str, ...]:
    kept, last = lines[: most_lines - 1], lines[most_lines - 1]
    while last and text_width(last + ELLIPSIS, font, size) > width:
        last = last[:-1]
    return (*kept, last.rstrip() + ELLIPSIS)


@lru_cache
def _code_points() -> frozenset[int]:
    return frozenset.intersection(
        *(frozenset(_metrics(font).face.charToGlyph) for font in _FONT_FILES)
    )


@lru_cache
def _metrics(font: str) -> Any:
    # Read when first needed, as reportlab is: a web process that prints nothing waits for neither.
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    loaded = TTFont(font, FONTS / _FONT_FILES[font])
    pdfmetrics.registerFont(loaded)
    return loaded
