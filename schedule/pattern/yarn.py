"""Grams for stitches: an estimate with its interval, and what it rests on.

Estimates are floats, since their interval is never narrower than some per cent; at 90 %.
"""

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import accumulate, cycle
from statistics import fmean, variance
from typing import Final

from palettes.colour.quantities import Amount
from schedule.pattern.errors import BadAmount, UnknownLetter
from schedule.pattern.gauge import Gauge, needle_factor, same_stitches_factor
from schedule.pattern.put_ups import PutUp, not_negative, positive
from schedule.pattern.stitches import BindOff, Part

Z_90: Final = 1.6449  # a normal quantile: 90 % lie within so many standard deviations

# Standard deviations as shares of the amount; all our choice. Between knitters: two in three use
# within a tenth of what the middle one does.
KNITTER_SPREAD: Final = 0.10
SWATCH_SPREAD: Final = 0.05
STITCH_SIZE_SPREAD: Final = 0.15
# A gauge is read to about half a stitch in 24; a needle only hints at a gauge.
GAUGE_SPREAD: Final = 0.03
NEEDLE_SPREAD: Final = 0.05
# How many knitters' worth the assumed spread counts for beside test knits that were weighed.
ASSUMED_KNITS: Final = 4

# Yarn in a stitch, in widths of the stitch. Common practice allows three widths of the row;
# Munden's constant for plain knitting at rest is 4.2 (see gauge.py). This is their middle.
WIDTHS_PER_STITCH: Final = 3.6
# Common practice: leave six widths of the row for binding off, against three for a row.
BIND_OFF_ROWS: Final = 2


class Source(StrEnum):
    """What the grams were worked out from, best first."""

    TEST_KNIT = "test-knit"
    SWATCH = "swatch"
    STITCH_SIZE = "stitch-size"
    ASKED = "asked"
    """What knitters are asked to bring: of the pattern itself nothing may be told yet."""


class Scaling(StrEnum):
    """What the grams were scaled by afterwards."""

    NONE = "none"
    GAUGE = "gauge"
    NEEDLE = "needle"


_SCALING_SPREAD: Final = {
    Scaling.NONE: 0.0,
    Scaling.GAUGE: GAUGE_SPREAD,
    Scaling.NEEDLE: NEEDLE_SPREAD,
}


@dataclass(frozen=True, slots=True)
class Basis:
    """What an estimate rests on; `samples` counts test knits, or the stitches of a swatch."""

    source: Source
    samples: int = 0
    scaling: Scaling = Scaling.NONE


@dataclass(frozen=True, slots=True)
class Estimate:
    """Grams with a 90 % interval; `spread` is the standard deviation as a share of the grams."""

    grams: float
    spread: float
    basis: Basis

    @property
    def low(self) -> float:
        return self.grams * math.exp(-Z_90 * self.spread)

    @property
    def high(self) -> float:
        return self.grams * math.exp(Z_90 * self.spread)


def from_test_knits(grams: Sequence[Amount]) -> Estimate:
    """Return what the next knitter takes where test knitters took `grams`, one number each.

    The mean, with the spread between knitters (pooled with the assumed one) and the mean's own.
    """
    taken = [float(not_negative(each, "g from a test knit")) for each in grams]
    mean = fmean(taken) if taken else 0
    if mean <= 0:
        raise BadAmount("No grams from a test knit; weigh the ball before and after.")
    between = ASSUMED_KNITS * KNITTER_SPREAD**2
    if len(taken) > 1:
        between += (len(taken) - 1) * variance(taken) / mean**2
    between /= ASSUMED_KNITS + len(taken) - 1
    spread = math.sqrt(between * (1 + 1 / len(taken)))
    return Estimate(mean, spread, Basis(Source.TEST_KNIT, len(taken)))


def from_swatch(
    stitches: float, swatch_stitches: int, swatch_grams: Amount, division: Amount = 1
) -> Estimate:
    """Return the grams of `stitches`, from one's own swatch on a scale that reads in `division` g.

    A reading is uniform within a division, so its standard deviation is division / sqrt(12).
    """
    weight = float(positive(swatch_grams, "g of swatch"))
    if swatch_stitches < 1:
        raise BadAmount(f"{swatch_stitches} stitches in the swatch; count stitches times rows.")
    reading = float(positive(division, "g of scale division")) / math.sqrt(12) / weight
    return Estimate(
        stitches * weight / swatch_stitches,
        math.hypot(SWATCH_SPREAD, reading),
        Basis(Source.SWATCH, swatch_stitches),
    )


def from_stitch_size(stitches: float, gauge: Gauge, metres_per_gram: Amount) -> Estimate:
    """Return the grams of `stitches` from the gauge and the yarn's metres per gram alone."""
    per_gram = float(positive(metres_per_gram, "m in a gram"))
    metres = stitches * WIDTHS_PER_STITCH * gauge.stitch_width_mm / 1000
    return Estimate(metres / per_gram, STITCH_SIZE_SPREAD, Basis(Source.STITCH_SIZE))


def at_gauge(estimate: Estimate, plan: Gauge, own: Gauge) -> Estimate:
    """Return the estimate for the same stitches at one's own gauge."""
    return _scaled(estimate, same_stitches_factor(plan, own), Scaling.GAUGE)


def on_needle(estimate: Estimate, plan_mm: Amount, own_mm: Amount) -> Estimate:
    """Return the estimate for the same stitches on one's own needle, gauge unknown."""
    return _scaled(estimate, needle_factor(plan_mm, own_mm), Scaling.NEEDLE)


def in_yarn(estimate: Estimate, plan: PutUp, own: PutUp) -> Estimate:
    """Return the estimate in another yarn: the same metres, by its own metres per gram."""
    return replace(
        estimate, grams=estimate.grams * float(plan.metres_per_gram / own.metres_per_gram)
    )


def together(estimates: Sequence[Estimate]) -> Estimate:
    """Return the sum of one knitter's sections, on the weakest basis among them.

    A knitter is loose or tight in all of them alike, so the spreads add up instead of averaging
    out. BadAmount when there is none.
    """
    if not estimates:
        raise BadAmount("There is no section to add up.")
    grams = math.fsum(each.grams for each in estimates)
    weighted = math.fsum(each.grams * each.spread for each in estimates)
    weakest = max(estimates, key=lambda each: (list(Source).index(each.basis.source), each.spread))
    return Estimate(grams, weighted / grams if grams else weakest.spread, weakest.basis)


def yarn_stitches(parts: Sequence[Part]) -> dict[str, int]:
    """Return each letter's stitches weighed by the yarn in them: a bound-off one counts twice."""
    totals: Counter[str] = Counter()
    for letter, stitches in _yarn_rows(parts):
        totals[letter] += stitches
    return dict(sorted(totals.items()))


def yarn_so_far(parts: Sequence[Part]) -> dict[str, tuple[int, ...]]:
    """Return each letter's `yarn_stitches` after 0, 1, 2 … rows; the last are those of them all."""
    rows = list(_yarn_rows(parts))
    return {
        letter: tuple(accumulate((n if of == letter else 0 for of, n in rows), initial=0))
        for letter in sorted({letter for letter, _ in rows})
    }


def _yarn_rows(parts: Sequence[Part]) -> Iterator[tuple[str, int]]:
    for part in parts:
        rows = BIND_OFF_ROWS if isinstance(part, BindOff) else 1
        for letter, count in zip(cycle(part.letters), part.row_counts, strict=False):
            yield letter, rows * count


def check_letters(used: Sequence[str], letters: str) -> None:
    """Raise UnknownLetter for the first letter that the knit-along does not have."""
    for letter in used:
        if len(letter) != 1 or letter not in letters:
            raise UnknownLetter(
                f"There is no colour {letter!r} here; the letters are {' '.join(letters)}."
            )


def _scaled(estimate: Estimate, factor: float, scaling: Scaling) -> Estimate:
    return Estimate(
        estimate.grams * factor,
        math.hypot(estimate.spread, _SCALING_SPREAD[scaling]),
        replace(estimate.basis, scaling=scaling),
    )
