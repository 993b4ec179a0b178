"""The arithmetic of the demo's two patterns, so that their stitch counts and grams are right.

Both are garter stitch: a ridge is two rows, there and back. In a slip ridge every other stitch
of each panel is slipped on both rows, starting and ending with a knitted one, so a panel always
has an odd number of stitches.
"""

import math
from collections import Counter
from dataclasses import dataclass
from itertools import accumulate, pairwise

from schedule.pattern.yarn import BIND_OFF_ROWS, WIDTHS_PER_STITCH

# 3.6 widths of a stitch at 24 to 10 cm: the basis that the site itself estimates by.
METRES_PER_STITCH = WIDTHS_PER_STITCH * 0.1 / 24
METRES_PER_GRAM = 4.0  # fingering yarn of 400 m to 100 g
SAFETY = 1.15  # what a host asks for above what the test knit took; our choice


@dataclass(frozen=True, slots=True)
class Ridge:
    letter: str
    slips: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """One clue's worth of knitting: some ridges, repeated."""

    title: str
    repeat: tuple[Ridge, ...]
    times: int

    @property
    def ridges(self) -> tuple[Ridge, ...]:
        return self.repeat * self.times

    @property
    def slip_contrast(self) -> str:
        """The contrast that slipped stitches need here: more where they are half of the fabric."""
        slipped = sum(ridge.slips for ridge in self.repeat)
        return "strong" if 2 * slipped >= len(self.repeat) else "workable"


@dataclass(frozen=True, slots=True)
class Pattern:
    """A piece worked in ridges from `cast_on`, growing by `increase` stitches each ridge.

    `edge` stitches (borders and spine) stay plain; the others lie in `panels` equal panels.
    """

    cast_on: int
    increase: int
    edge: int
    panels: int
    sections: tuple[Section, ...]

    @property
    def counts(self) -> tuple[int, ...]:
        """Stitches on the needle at cast-on and after each section."""
        grown = (len(section.ridges) * self.increase for section in self.sections)
        return tuple(accumulate(grown, initial=self.cast_on))

    @property
    def letters(self) -> str:
        used = {ridge.letter for section in self.sections for ridge in section.repeat}
        return "".join(sorted(used))

    def panel(self, count: int) -> int:
        """Return the stitches of one panel when `count` are on the needle."""
        return (count - self.edge) // self.panels

    def slipped(self, count: int) -> int:
        """Return how many stitches each row of a slip ridge leaves unworked."""
        return self.panels * (self.panel(count) // 2)

    def grams(self, number: int) -> dict[str, float]:
        """Return the grams of each letter that section `number`, from 1, takes; bind-off too."""
        worked: Counter[str] = Counter()
        count = self.counts[number - 1]
        for ridge in self.sections[number - 1].ridges:
            left_out = 2 * self.slipped(count) if ridge.slips else 0
            worked[ridge.letter] += 2 * count + self.increase - left_out
            count += self.increase
        if number == len(self.sections):
            worked[ridge.letter] += BIND_OFF_ROWS * count
        return {letter: grams_of(stitches) for letter, stitches in sorted(worked.items())}

    def needs(self) -> dict[str, int]:
        """Return the grams of each letter to bring: the whole piece, with something to spare."""
        clues = [self.grams(number) for number in range(1, len(self.sections) + 1)]
        total = {letter: sum(grams.get(letter, 0) for grams in clues) for letter in self.letters}
        return {letter: 5 * math.ceil(grams * SAFETY / 5) for letter, grams in total.items()}

    def meetings(self, number: int) -> dict[str, tuple[str, str]]:
        """Return technique and contrast needed by pair of letters that meet in section `number`.

        Each ridge meets the one before it, the first one the last of the section before. Where
        stitches are slipped the colours mingle; a plain change of colour asks for little.
        """
        section = self.sections[number - 1]
        before = self.sections[number - 2].ridges[-1:] if number > 1 else ()
        found: dict[str, tuple[str, str]] = {}
        for lower, upper in pairwise((*before, *section.ridges)):
            pair = "".join(sorted((lower.letter, upper.letter)))
            if lower.letter == upper.letter:
                continue
            if upper.slips or lower.slips:
                found[pair] = ("slipped stitches", section.slip_contrast)
            else:
                found.setdefault(pair, ("a plain change of colour", "close"))
        return dict(sorted(found.items()))

    def checkpoints(self, number: int) -> list[int]:
        """Return the stitch count after each repeat of section `number`."""
        start, end = list(pairwise(self.counts))[number - 1]
        times = self.sections[number - 1].times
        return [start + (end - start) * turn // times for turn in range(1, times + 1)]


def grams_of(stitches: int) -> float:
    return round(stitches * METRES_PER_STITCH / METRES_PER_GRAM, 1)


def plain(letter: str, ridges: int = 1) -> tuple[Ridge, ...]:
    return (Ridge(letter),) * ridges


def slip(letter: str) -> tuple[Ridge, ...]:
    return (Ridge(letter, slips=True),)


# A triangle from the neck down: 3 border stitches, a panel, 1 spine stitch, a panel, 3 border.
SHAWL = Pattern(
    cast_on=9,
    increase=4,
    edge=7,
    panels=2,
    sections=(
        Section("The harbour wall", plain("A", 28), 1),
        Section("First lamps", slip("B") + plain("A"), 12),
        Section("Water", plain("C", 8) + slip("D"), 3),
        Section("Windows", slip("D") + plain("B"), 12),
        Section("The late boat", plain("E", 2) + slip("A"), 8),
        Section("Night", plain("C", 14) + plain("E", 4), 1),
    ),
)

# A straight scarf: 3 border stitches, one panel, 3 border.
SCARF = Pattern(
    cast_on=61,
    increase=0,
    edge=6,
    panels=1,
    sections=(
        Section("Hedge bottom", plain("A", 6) + slip("B"), 11),
        Section("Wings closed", plain("B", 3) + slip("C"), 20),
        Section("Wings open", slip("C") + plain("A", 1), 40),
        Section("Dusk", plain("C", 4) + slip("A"), 16),
    ),
)
