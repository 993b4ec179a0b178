"""Sheets of paper to print on."""

from enum import Enum
from typing import Final


class Paper(Enum):
    """A sheet's width and height in points: ISO 216 A4, and ANSI/ASME Y14.1 A (US Letter)."""

    A4 = (210 * 72 / 25.4, 297 * 72 / 25.4)
    LETTER = (8.5 * 72, 11 * 72)


# What an address calls them.
PAPERS: Final = {"a4": Paper.A4, "letter": Paper.LETTER}

# Points. Our choice: 15 mm is more than common printers leave blank.
MARGIN: Final = 42.5
