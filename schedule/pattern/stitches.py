"""Stitches row by row: what a section is, and how far through the whole a row is.

A row counts the stitches on the needle when it is done, because yarn goes into the loops a row
makes: a yarn over makes one, k2tog makes one of two. "Row" stands for a round as well.
"""

import math
from bisect import bisect_left
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate, chain, cycle, islice

from schedule.pattern.errors import BadCount, BadRepeat, RowOutOfRange


@dataclass(frozen=True, slots=True)
class StitchRepeat:
    """A stitch pattern over a multiple of `stitches` plus `edge`, worked every `rows` rows."""

    stitches: int
    edge: int = 0
    rows: int = 1

    def __post_init__(self) -> None:
        if self.stitches < 1 or self.rows < 1 or self.edge < 0:
            raise BadRepeat("no-repeat", stitches=self.stitches, rows=self.rows, edge=self.edge)

    def fits(self, count: int) -> bool:
        """Whether whole repeats and the edge make up `count` stitches."""
        return count >= self.edge and (count - self.edge) % self.stitches == 0

    def nearest(self, count: int) -> tuple[int, int]:
        """Return the nearest counts at or below and above `count` that fit."""
        below = self.edge + max(0, count - self.edge) // self.stitches * self.stitches
        return below, below + self.stitches


@dataclass(frozen=True, slots=True)
class Section:
    """Rows that start from `start` stitches; `changes` per row and `letters` come round in turn.

    Four more on every right-side row is `changes=(4, 0)`; stripes of two rows of A and one of B
    are `letters="AAB"`. BadCount when a row would be left with fewer than no stitches.
    """

    name: str
    start: int
    rows: int
    changes: tuple[int, ...] = (0,)
    letters: str = "A"
    repeat: StitchRepeat | None = None
    states_end: int | None = None
    """The stitch count the pattern's text promises at the end, to be checked."""

    def __post_init__(self) -> None:
        _check_count("negative-start", self.name, self.start)
        _check_count("negative-rows", self.name, self.rows)
        _check_letters(self.name, self.letters)
        if not self.changes:
            raise BadCount("no-change", section=self.name)
        for row, count in enumerate(self.row_counts, start=1):
            if count < 0:
                raise BadCount("row-below-none", section=self.name, row=row, count=count)

    @property
    def row_counts(self) -> tuple[int, ...]:
        """Stitches on the needle after each row."""
        return tuple(accumulate(islice(cycle(self.changes), self.rows), initial=self.start))[1:]

    @property
    def end(self) -> int:
        """Stitches on the needle after the last row."""
        return self.row_counts[-1] if self.rows else self.start


@dataclass(frozen=True, slots=True)
class ShortRows:
    """Turned rows as a list of the stitches each of them works; the count stays as it was."""

    name: str
    start: int
    worked: tuple[int, ...]
    letters: str = "A"

    def __post_init__(self) -> None:
        _check_count("negative-start", self.name, self.start)
        _check_letters(self.name, self.letters)
        for row, stitches in enumerate(self.worked, start=1):
            if not 0 < stitches <= self.start:
                about = {"row": row, "count": stitches, "start": self.start}
                raise BadCount("short-row-too-long", section=self.name, **about)

    @property
    def row_counts(self) -> tuple[int, ...]:
        """Stitches worked in each row."""
        return self.worked

    @property
    def rows(self) -> int:
        return len(self.worked)

    @property
    def end(self) -> int:
        return self.start


@dataclass(frozen=True, slots=True)
class CastOn:
    """The first stitches, counted as one row of them."""

    name: str
    count: int
    letters: str = "A"

    def __post_init__(self) -> None:
        _check_count("negative-stitches", self.name, self.count)
        _check_letters(self.name, self.letters)

    @property
    def start(self) -> int:
        return 0

    @property
    def end(self) -> int:
        return self.count

    @property
    def rows(self) -> int:
        return 1

    @property
    def row_counts(self) -> tuple[int, ...]:
        return (self.count,)


@dataclass(frozen=True, slots=True)
class BindOff:
    """Binding off `start` stitches, counted as one row of them; nothing stays on the needle."""

    name: str
    start: int
    letters: str = "A"

    def __post_init__(self) -> None:
        _check_count("negative-stitches", self.name, self.start)
        _check_letters(self.name, self.letters)

    @property
    def end(self) -> int:
        return 0

    @property
    def rows(self) -> int:
        return 1

    @property
    def row_counts(self) -> tuple[int, ...]:
        return (self.start,)


Part = Section | ShortRows | CastOn | BindOff


def repeated(section: Section, times: int) -> Section:
    """Return the section worked `times` times on end, its changes carrying on."""
    if section.rows % len(section.changes) or section.rows % len(section.letters):
        about = {"changes": len(section.changes), "letters": len(section.letters)}
        raise BadRepeat("repeat-cut", section=section.name, rows=section.rows, **about)
    return Section(
        name=section.name,
        start=section.start,
        rows=section.rows * times,
        changes=section.changes,
        letters=section.letters,
        repeat=section.repeat,
    )


def total_stitches(parts: Sequence[Part]) -> int:
    """Return the stitches of all parts together."""
    return sum(_all_rows(parts))


def total_rows(parts: Sequence[Part]) -> int:
    """Return the rows of all parts together; cast-on and bind-off are a row each."""
    return sum(part.rows for part in parts)


def stitches_by_letter(parts: Sequence[Part]) -> dict[str, int]:
    """Return the stitches worked in each colour letter, in the letters' order."""
    totals: Counter[str] = Counter()
    for part in parts:
        for letter, count in zip(cycle(part.letters), part.row_counts, strict=False):
            totals[letter] += count
    return dict(sorted(totals.items()))


def row_shares(parts: Sequence[Part]) -> tuple[Fraction, ...]:
    """Return each row's exact share of all the stitches; they add up to 1."""
    total = _whole(parts)
    return tuple(Fraction(count, total) for count in _all_rows(parts))


def share_after(parts: Sequence[Part], row: int) -> Fraction:
    """Return the exact share of the stitches done after `row` rows, 0 to 1."""
    rows = total_rows(parts)
    if not 0 <= row <= rows:
        raise RowOutOfRange(f"Row {row} is not in this pattern; it has rows 1 to {rows}.")
    return Fraction(sum(islice(_all_rows(parts), row)), _whole(parts))


def row_at(parts: Sequence[Part], share: Fraction | float) -> int:
    """Return the first row after which at least `share` of the stitches are done, 0 for none."""
    if not (math.isfinite(share) and 0 <= share <= 1):
        raise RowOutOfRange(f"A share of {float(share):g}; it must be between 0 and 1.")
    done = list(accumulate(_all_rows(parts), initial=0))
    return bisect_left(done, Fraction(share) * _whole(parts))


def _all_rows(parts: Sequence[Part]) -> chain[int]:
    return chain.from_iterable(part.row_counts for part in parts)


def _whole(parts: Sequence[Part]) -> int:
    total = total_stitches(parts)
    if not total:
        raise BadCount("no-stitch")
    return total


def _check_count(refusal: str, name: str, count: int) -> None:
    if count < 0:
        raise BadCount(refusal, section=name, count=count)


def _check_letters(name: str, letters: str) -> None:
    if not letters:
        raise BadCount("no-letter", section=name)
