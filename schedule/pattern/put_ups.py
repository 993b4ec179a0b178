"""Balls: what is on their bands, what is in the bag, and how many more to buy, exactly.

Amounts are decimals, read from a float by its shortest spelling.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import product
from typing import Final

from palettes.colour.quantities import (
    Amount,
    balls_needed,
    exact,
    grams_from_ounces,
    metres_from_yards,
)
from schedule.pattern.errors import BadAmount

# Common practice: one tenth more than the test knit took.
RESERVE: Final = Decimal("0.10")


@dataclass(frozen=True, slots=True)
class PutUp:
    """Grams and metres of one ball, exactly as on its band. BadAmount unless both are above 0."""

    grams: Decimal
    metres: Decimal

    def __post_init__(self) -> None:
        positive(self.grams, "g in a ball")
        positive(self.metres, "m in a ball")

    @classmethod
    def from_imperial(cls, ounces: Amount, yards: Amount) -> "PutUp":
        return cls(grams_from_ounces(ounces), metres_from_yards(yards))

    @property
    def metres_per_gram(self) -> Decimal:
        return self.metres / self.grams

    def metres_of(self, grams: Amount) -> Decimal:
        """Return the metres in so many grams of this yarn."""
        return exact(grams) * self.metres / self.grams

    def grams_of(self, metres: Amount) -> Decimal:
        """Return the grams of so many metres of this yarn."""
        return exact(metres) * self.grams / self.metres


@dataclass(frozen=True, slots=True)
class Holding:
    """Balls of one put-up in the bag; a part ball is a fraction."""

    put_up: PutUp
    balls: Decimal

    def __post_init__(self) -> None:
        not_negative(self.balls, "balls")

    @property
    def metres(self) -> Decimal:
        return self.put_up.metres * self.balls


def balls_to_buy(grams: Amount, put_up: PutUp, reserve: Amount = RESERVE) -> int:
    """Return the whole balls that cover the grams and the reserve on top, 0.1 being a tenth."""
    need = not_negative(grams, "g") * (1 + not_negative(reserve, "of reserve"))
    return balls_needed(need, None, put_up.grams, None) if need else 0


def metres_held(holdings: Sequence[Holding]) -> Decimal:
    """Return the metres in the bag. Length, not weight, adds up across unlike yarns."""
    return sum((holding.metres for holding in holdings), Decimal(0))


def mix_put_ups(metres: Amount, put_ups: Sequence[PutUp]) -> tuple[int, ...]:
    """Return how many balls of each put-up cover the metres with the least left over.

    Of equal answers the one with fewest balls; no ball of any for nothing. Exact search.
    """
    need = not_negative(metres, "m")
    if not put_ups:
        raise BadAmount("No put-up to choose from; give the metres of a ball.")
    # The last put-up is not searched: whatever the others leave decides it.
    *others, last = put_ups
    ranges = [range(_balls(need, put_up) + 1) for put_up in others]
    return min(
        (_completed(counts, need, others, last) for counts in product(*ranges)),
        key=lambda counts: (_length(counts, put_ups), sum(counts)),
    )


def _completed(
    counts: tuple[int, ...], need: Decimal, others: Sequence[PutUp], last: PutUp
) -> tuple[int, ...]:
    return (*counts, _balls(need - _length(counts, others), last))


def _balls(metres: Decimal, put_up: PutUp) -> int:
    return balls_needed(None, metres, None, put_up.metres) if metres > 0 else 0


def _length(counts: Sequence[int], put_ups: Sequence[PutUp]) -> Decimal:
    pairs = zip(counts, put_ups, strict=True)
    return sum((count * put_up.metres for count, put_up in pairs), Decimal(0))


def not_negative(amount: Amount, what: str) -> Decimal:
    """Return the amount exactly; BadAmount, naming it and what it is of, when it is below 0."""
    value = exact(amount)
    if not (value.is_finite() and value >= 0):
        raise BadAmount(f"{amount} {what}; it must be 0 or more.")
    return value


def positive(amount: Amount, what: str) -> Decimal:
    """Return the amount exactly; BadAmount, naming it and what it is of, unless above 0."""
    value = exact(amount)
    if not (value.is_finite() and value > 0):
        raise BadAmount(f"{amount} {what}; it must be more than 0.")
    return value
