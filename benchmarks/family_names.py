"""The two lists of named colours that families are measured against, and their hue words.

Sources and terms are in fixtures/reference/README.md.
"""

import csv
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from palettes.colour.families import FAMILIES
from palettes.colour.spaces import Floats, hex_to_lab

FOLDER: Final = Path(__file__).parent.parent / "fixtures" / "reference"
SURVEY: Final = "xkcd_heads.csv"
STANDARD: Final = "iscc_nbs_centroids.csv"

_HEADS: Final = {
    "red": "red maroon burgundy crimson scarlet reddish reddy",
    "pink": "pink pinkish pinky",
    "orange": "orange orangish orangey",
    "yellow": "yellow gold yellowish yellowy",
    "green": "green greenish greeny",
    "teal": "teal turquoise aqua aquamarine cyan",
    "blue": "blue navy bluish bluey",
    "purple": "purple violet lavender lilac purplish purpleish purply purpley",
    "brown": "brown tan brownish",
    "neutral": "black white grey gray cream beige greyish grayish",
}
HUE_WORDS: Final = {word: family for family, words in _HEADS.items() for word in words.split()}


@dataclass(frozen=True, eq=False)
class NamedColours:
    """One list: names, colours in L*a*b* D65 of shape (n, 3), and families as numbers."""

    names: tuple[str, ...]
    labs: Floats
    families: NDArray[np.intp]
    mentioned: NDArray[np.bool_]
    """Shape (n, 10): families whose word stands anywhere in the name, the head's included."""


def read_names(file: str) -> NamedColours:
    """Return one of the two lists."""
    with (FOLDER / file).open(newline="", encoding="utf-8") as handle:
        rows = list(csv.DictReader(handle))
    families = np.array([FAMILIES.index(row["family"]) for row in rows])
    mentioned = np.array([_mentioned(row["name"]) for row in rows])
    mentioned[np.arange(len(rows)), families] = True
    return NamedColours(
        names=tuple(row["name"] for row in rows),
        labs=np.array([hex_to_lab(row["hex"]) for row in rows]),
        families=families,
        mentioned=mentioned,
    )


def _mentioned(name: str) -> list[bool]:
    words = {HUE_WORDS.get(word) for word in name.split()}
    return [family in words for family in FAMILIES]
