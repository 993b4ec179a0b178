"""How much yarn to bring, in the units of whoever reads it."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby

from kal.models import KnitAlong, LetterNeed, User
from kal.units import length_text, weight_text
from palettes.colour.quantities import balls_needed


@dataclass(frozen=True)
class PutUp:
    """Grams and metres of one ball."""

    grams: Decimal
    metres: Decimal


@dataclass(frozen=True)
class Amount:
    """What each of some letters needs; `balls` of a given put-up, or None without one."""

    letters: str
    weight: str
    length: str
    balls: int | None


def amounts_to_bring(
    knit_along: KnitAlong, *, imperial: bool, put_up: PutUp | None = None
) -> list[Amount]:
    """Return the needs, letters with the same need together, most needed first."""
    needs = sorted(
        knit_along.needs.all(), key=lambda need: (-need.grams, -need.metres, need.letter)
    )
    return [
        amount_of(list(alike), imperial=imperial, put_up=put_up)
        for _, alike in groupby(needs, key=lambda need: (need.grams, need.metres))
    ]


def amount_of(needs: Iterable[LetterNeed], *, imperial: bool, put_up: PutUp | None) -> Amount:
    first, *others = needs
    balls = None
    if put_up:
        balls = balls_needed(first.grams, first.metres, put_up.grams, put_up.metres)
    return Amount(
        letters=", ".join(need.letter for need in (first, *others)),
        weight=weight_text(first.grams, imperial=imperial),
        length=length_text(first.metres, imperial=imperial),
        balls=balls,
    )


def reads_imperial(person: object) -> bool:
    return isinstance(person, User) and person.reads_imperial
