"""How much yarn a stitch takes at another gauge or on another needle, as a plain factor.

The model: the yarn in a stitch grows in proportion to the stitch. For plain knitting at rest the
wales and courses per cm are each a constant divided by the loop length, so the stitches per cm2
are k / loop length squared and a loop is as long as 1 / sqrt(stitches x rows). Source: D. L.
Munden (1959), The geometry and dimensional properties of plain-knit fabrics, J. Textile Inst. 50,
T448-T471 (the reference from memory; the law and its constants 4.2 and 5.5 read in textile
engineering examination answers). That other stitch patterns scale alike is our assumption.
"""

import math
from dataclasses import dataclass
from typing import Final

from palettes.colour.quantities import Amount, exact
from schedule.pattern.errors import BadGauge

# How much of a change of needle reaches the loop: the yarn's own thickness does not change with
# the needle. Our choice, between half and all of it; a gauge knitted on the needle is better.
NEEDLE_POWER: Final = 0.7


@dataclass(frozen=True, slots=True)
class Gauge:
    """Stitches, and rows where counted, to 10 cm. BadGauge when either is not above 0."""

    stitches: Amount
    rows: Amount | None = None

    def __post_init__(self) -> None:
        _positive(self.stitches, "stitches to 10 cm")
        if self.rows is not None:
            _positive(self.rows, "rows to 10 cm")

    @property
    def stitch_width_mm(self) -> float:
        """Width of one stitch in millimetres."""
        return 100 / float(self.stitches)


def same_stitches_factor(plan: Gauge, own: Gauge) -> float:
    """Return how many times the plan's yarn the same stitches take at one's own gauge.

    A looser gauge gives more than 1. Rows count where both gauges have them.
    """
    return math.sqrt(_density(plan, own) / _density(own, plan))


def same_size_factor(plan: Gauge, own: Gauge) -> float:
    """Return how many times the plan's yarn a piece of the same size takes at one's own gauge.

    A looser gauge gives less than 1: fewer stitches, each longer.
    """
    return 1 / same_stitches_factor(plan, own)


def needle_factor(plan_mm: Amount, own_mm: Amount) -> float:
    """Return about how many times the plan's yarn the same stitches take on one's own needle."""
    plan, own = _positive(plan_mm, "mm of needle"), _positive(own_mm, "mm of needle")
    return math.pow(own / plan, NEEDLE_POWER)


def _density(gauge: Gauge, other: Gauge) -> float:
    stitches = float(gauge.stitches)
    if gauge.rows is None or other.rows is None:
        return stitches * stitches
    return stitches * float(gauge.rows)


def _positive(amount: Amount, what: str) -> float:
    value = exact(amount)
    if not (value.is_finite() and value > 0):
        raise BadGauge(f"{amount} {what}; it must be more than 0.")
    return float(value)
