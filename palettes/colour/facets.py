"""What a palette can be found by among many, worked out once, when it is registered.

Several answers to one question ("which families?") are kept as the bits of one number, in the
order of the tables below, so that a search asks for any or for all of them in one comparison.
"""

import re
import unicodedata
import zlib
from collections.abc import Iterable, Sequence
from typing import Final, NamedTuple

from palettes.colour.families import FAMILIES
from palettes.colour.fibre import KINDS, kinds_of
from palettes.colour.pair_matrix import PairsLeft
from palettes.colour.schemes import read_scheme
from palettes.colour.survey import grades_of_many
from palettes.colour.swatch import TYPICAL_SPREAD, Swatch

DYE_STYLES: Final = tuple(TYPICAL_SPREAD)

# Our choice of what is a share worth asking for: some of a palette, half of it or more, all of it.
HALF: Final = 0.5

# Words are told apart by their first letter, first two and first four. Our choice: one bit of 63
# for each keeps a number that both databases can store, and rules out more than longer ones.
START_LENGTHS: Final = (1, 2, 4)
START_BITS: Final = 63


class Facets(NamedTuple):
    """The answers about one palette; grades are positions in `contrast.GRADES`, 0 the strongest."""

    scheme: str
    worst_grade: int
    """Of the pair that reads worst."""
    mean_grade: int
    """Of what is left of all pairs in the mean, as if they were one."""
    darkest: float
    """The least L* of its yarns."""
    lightest: float
    families_some: int
    """The families that a yarn or more belongs to."""
    families_half: int
    """Those that half of the yarns or more belong to."""
    families_all: int
    fibres: int
    """The kinds of fibre in it."""
    dye_styles: int
    words: str
    """The words of its yarns' names and fibres, as `fold` makes them."""


def read_facets(
    swatches: Sequence[Swatch], families: Sequence[Iterable[str]], left: PairsLeft
) -> Facets:
    """Return the facets of a palette of two yarns or more.

    `families` holds those of each yarn, `left` what is left of every pair, both (pairs,).
    """
    worst, mean = grade(left)
    lightness = [swatch.lab.l for swatch in swatches]
    held = [sum(family in own for own in families) for family in FAMILIES]
    return Facets(
        scheme=read_scheme([swatch.lab for swatch in swatches]).scheme.value,
        worst_grade=worst,
        mean_grade=mean,
        darkest=min(lightness),
        lightest=max(lightness),
        families_some=_bits(count > 0 for count in held),
        families_half=_bits(count >= HALF * len(swatches) for count in held),
        families_all=_bits(count == len(swatches) for count in held),
        fibres=bits({kind for one in swatches for kind in kinds_of(one)}, KINDS),
        dye_styles=bits({swatch.dye_style for swatch in swatches}, DYE_STYLES),
        words=fold(
            part for one in swatches for part in (one.name, *(name for name, _ in one.fibre))
        ),
    )


def grade(left: PairsLeft) -> tuple[int, int]:
    """Return the grade of the worst pair and of the mean of all: both arrays (pairs,)."""
    worst = grades_of_many(left.throughout, left.at_arm).max()
    mean = grades_of_many(left.throughout.mean(keepdims=True), left.at_arm.mean(keepdims=True))
    return int(worst), int(mean[0])


def bits(held: Iterable[str | None], table: Sequence[str]) -> int:
    """Return the number whose bits say which of the table are held; others are passed over."""
    wanted = set(held)
    return _bits(name in wanted for name in table)


def fold(texts: Iterable[str]) -> str:
    """Return the different words of the texts, each with a space before it.

    In lower case and without accents, so that 'Élan' is found by 'elan'; what is neither letter
    nor digit parts words.
    """
    plain = unicodedata.normalize("NFKD", " ".join(texts).casefold())
    letters = "".join(letter for letter in plain if not unicodedata.combining(letter))
    return "".join(f" {word}" for word in dict.fromkeys(re.findall(r"[^\W_]+", letters)))


def starts_of(words: str) -> int:
    """Return bits for the beginnings of folded words.

    A palette with a word that begins with 'gul' has all of the bits of ' gul'; one with all of
    them may have such a word.
    """
    starts = {
        word[:length] for word in words.split() for length in START_LENGTHS if length <= len(word)
    }
    places = {zlib.crc32(start.encode()) % START_BITS for start in starts}
    return sum(1 << place for place in places)


def _bits(answers: Iterable[bool]) -> int:
    return sum(1 << place for place, answer in enumerate(answers) if answer)
