"""The lightness ladder: which of light, medium and dark a palette has, and how many greys."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

LightnessWord = Literal["light", "medium", "dark"]
LIGHTNESS_WORDS: Final[tuple[LightnessWord, ...]] = ("light", "medium", "dark")

# Our choice: the thirds of the range that dyed yarn covers, from a black near L* 14 to an undyed
# white near L* 92 (common practice). They fall close to Munsell values 4 and 6.5.
DARK_BELOW = 40.0
LIGHT_FROM = 65.0

# Our choice: one whole step of Munsell value, which is 10 L* along most of the scale
# (fixtures/reference/munsell_value.csv). Greys closer than this are hard to tell apart in a photo.
GREY_STEP = 10.0


@dataclass(frozen=True, slots=True)
class Ladder:
    """A palette seen by lightness alone; indices are positions in the palette."""

    order: tuple[int, ...]
    """Darkest first; yarns equal in lightness keep the palette's order."""
    words: tuple[LightnessWord, ...]
    """Light, medium or dark, for each yarn in the palette's own order."""
    missing: tuple[LightnessWord, ...]
    gaps: tuple[float, ...]
    """L* from each rung to the next, darkest first; one fewer than there are yarns."""
    distinct_greys: int
    """The most yarns that can be picked with at least `GREY_STEP` between any two."""

    @property
    def present(self) -> tuple[LightnessWord, ...]:
        """The words that at least one yarn answers to, lightest first."""
        return tuple(word for word in LIGHTNESS_WORDS if word not in self.missing)


def lightness_word(l: float) -> LightnessWord:  # noqa: E741
    """Return 'light', 'medium' or 'dark' for an L* in 0..100."""
    if l >= LIGHT_FROM:
        return "light"
    return "dark" if l < DARK_BELOW else "medium"


def build_ladder(lightnesses: Sequence[float]) -> Ladder:
    """Return the ladder of yarns with these L*, given in the palette's order."""
    order = tuple(sorted(range(len(lightnesses)), key=lambda i: lightnesses[i]))
    rungs = [lightnesses[i] for i in order]
    words = tuple(lightness_word(value) for value in lightnesses)
    return Ladder(
        order=order,
        words=words,
        missing=tuple(word for word in LIGHTNESS_WORDS if word not in words),
        gaps=tuple(upper - lower for lower, upper in pairwise(rungs)),
        distinct_greys=_count_greys(rungs),
    )


def _count_greys(rungs: Sequence[float]) -> int:
    # Taking the lowest rung that is far enough from the last one taken gives the most of them.
    count, last = 0, float("-inf")
    for value in rungs:
        if value - last >= GREY_STEP:
            count, last = count + 1, value
    return count
