"""Grams, metres and balls: what a letter takes against what is in the bag.

Amounts are decimals throughout, read from a float by its shortest spelling, so that 0.3 g at
0.1 g a ball is three balls and not four.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from palettes.colour.errors import BadQuantity
from palettes.colour.swatch import Need, Swatch

Amount = Decimal | float | int

# Exact by the international yard and pound agreement of 1959 (NIST Handbook 44, appendix C); see
# fixtures/reference/units.csv.
METRES_PER_YARD = Decimal("0.9144")
METRES_PER_FOOT = METRES_PER_YARD / 3
GRAMS_PER_OUNCE = Decimal("28.349523125")
MILLIMETRES_PER_INCH = Decimal("25.4")

# Common practice: yarn is put up in round grams, multiples of 25, and whole metres, and its band
# rounds them to ounces and yards: 50 g is 1.75 or 1.76 oz, 100 g is 3.5 oz, 400 m is 437 yd.
BAND_GRAMS = Decimal(25)
# Our choice: 1.75 and 3.5 oz lie 0.8 % under the grams they stand for, and 3.53 oz lies 0.1 % over.
# Below 1 % under, or a fifth of one over, no ball is meant but that one: 4 oz and 16 oz stay.
BAND_UNDER, BAND_OVER = Decimal("0.01"), Decimal("0.002")

# Amounts are compared in millionths of a gram or metre, the noise of sums of floats left out:
# 0.1 + 0.2 g is 0.30000000000000004 g, and needs no more than three balls of 0.1 g.
MILLIONTH = Decimal("0.000001")

# Our choice, near common practice: knitters' gauge varies, and under 5 % over what the pattern
# itself takes is a gamble.
TIGHT_MARGIN = Decimal("0.05")


@dataclass(frozen=True, slots=True)
class Quantity:
    """One letter's yarn against the pattern; None where the ball band or the count is unknown."""

    letter: str
    yarn: int
    grams_needed: Decimal
    metres_needed: Decimal
    balls_needed: int | None
    balls_held: Decimal | None
    grams_held: Decimal | None
    metres_held: Decimal | None
    balls_short: int | None
    """Whole balls to buy on top of those held; 0 when there is enough."""
    reserve: Decimal = Decimal(0)
    """The share of what the pattern itself takes that is asked for on top."""

    @property
    def grams_short(self) -> Decimal | None:
        """Grams missing, 0 when there is enough."""
        return _missing(self.grams_needed, self.grams_held)

    @property
    def metres_short(self) -> Decimal | None:
        """Metres missing, 0 when there is enough."""
        return _missing(self.metres_needed, self.metres_held)

    @property
    def is_enough(self) -> bool | None:
        """Whether what is held will do; None when that cannot be told."""
        return None if self.balls_short is None else self.balls_short == 0

    @property
    def margin(self) -> Decimal | None:
        """How much is over what the pattern itself takes, by the scarcer of grams and metres."""
        shares = [
            held / needed * (1 + self.reserve) - 1
            for needed, held in (
                (self.grams_needed, self.grams_held),
                (self.metres_needed, self.metres_held),
            )
            if held is not None
        ]
        return min(shares) if shares else None

    @property
    def is_tight(self) -> bool:
        """Whether there is enough, but hardly."""
        return bool(self.is_enough and self.margin is not None and self.margin < TIGHT_MARGIN)


def balls_needed(
    grams: Amount | None,
    metres: Amount | None,
    put_up_grams: Amount | None,
    put_up_metres: Amount | None,
) -> int:
    """Return the whole balls that cover the need in grams and in metres, whichever is more.

    A measure counts where both its need and its put-up are known; BadQuantity when neither
    does, or when an amount is not above 0.
    """
    measures = _measures(grams, metres, put_up_grams, put_up_metres)
    # However little it is, what is needed at all takes a ball.
    return max(1, *(_whole_balls(need, put_up) for need, put_up in measures))


def check_quantities(
    swatches: Sequence[Swatch], needs: Sequence[Need], places: Sequence[int] | None = None
) -> tuple[Quantity, ...]:
    """Return one line per letter that has a yarn; `places` are the yarns' positions by letter.

    Without them the first letter is the first yarn's, and so on.
    """
    places = range(len(swatches)) if places is None else places
    return tuple(
        _check(place, swatches[place], need) for place, need in zip(places, needs, strict=False)
    )


def held(balls: Amount | None, put_up: Amount | None) -> Decimal | None:
    """Return what so many balls hold, exactly; None where either is unknown."""
    return None if balls is None or put_up is None else exact(balls) * exact(put_up)


def metres_from_yards(yards: Amount) -> Decimal:
    """Return the exact metres of a length in yards."""
    return exact(yards) * METRES_PER_YARD


def yards_from_metres(metres: Amount) -> Decimal:
    """Return the yards of a length in metres, to the precision of the decimal context."""
    return exact(metres) / METRES_PER_YARD


def grams_from_ounces(ounces: Amount) -> Decimal:
    """Return the exact grams of a weight in ounces avoirdupois."""
    return exact(ounces) * GRAMS_PER_OUNCE


def ounces_from_grams(grams: Amount) -> Decimal:
    """Return the ounces avoirdupois of a weight in grams."""
    return exact(grams) / GRAMS_PER_OUNCE


def grams_on_band(ounces: Amount) -> Decimal:
    """Return the grams of a ball whose band says so many ounces: the round ones they stand for."""
    grams = grams_from_ounces(ounces)
    around = (grams / BAND_GRAMS).quantize(Decimal(1)) * BAND_GRAMS
    is_meant = around * (1 - BAND_UNDER) <= grams <= around * (1 + BAND_OVER)
    return around if is_meant else grams


def metres_on_band(yards: Amount) -> Decimal:
    """Return the metres of a ball whose band says so many yards: whole ones, unless it is tiny."""
    metres = metres_from_yards(yards)
    around = metres.quantize(Decimal(1))
    return around if abs(metres - around) <= metres * BAND_UNDER else metres


def exact(amount: Amount) -> Decimal:
    """Return the amount as it is written: 0.1 is a tenth, not the nearest binary fraction."""
    return amount if isinstance(amount, Decimal) else Decimal(repr(amount))


def _check(position: int, swatch: Swatch, need: Need) -> Quantity:
    balls = None if swatch.balls is None else exact(swatch.balls)
    put_ups = (swatch.put_up_grams, swatch.put_up_metres)
    known = any(put_up is not None for put_up in put_ups)
    needed = balls_needed(need.grams, need.metres, *put_ups) if known else None
    return Quantity(
        letter=need.letter,
        yarn=position,
        grams_needed=exact(need.grams),
        metres_needed=exact(need.metres),
        balls_needed=needed,
        balls_held=balls,
        grams_held=held(balls, swatch.put_up_grams),
        metres_held=held(balls, swatch.put_up_metres),
        balls_short=_balls_short(need, balls, put_ups) if known else None,
        reserve=exact(need.reserve),
    )


def _balls_short(
    need: Need, balls: Decimal | None, put_ups: tuple[Amount | None, Amount | None]
) -> int | None:
    if balls is None:
        return None
    measures = _measures(need.grams, need.metres, *put_ups)
    # What a part ball falls short is bought as whole ones.
    return max(0, *(_whole_balls(amount - balls * put_up, put_up) for amount, put_up in measures))


def _measures(
    grams: Amount | None,
    metres: Amount | None,
    put_up_grams: Amount | None,
    put_up_metres: Amount | None,
) -> list[tuple[Decimal, Decimal]]:
    pairs = ((grams, put_up_grams, "grams"), (metres, put_up_metres, "metres"))
    measures = [
        (_positive(need, f"{what} needed"), _positive(put_up, f"{what} in a ball"))
        for need, put_up, what in pairs
        if need is not None and put_up is not None
    ]
    if not measures:
        raise BadQuantity("Give the grams or the metres of one ball; the ball band says both.")
    return measures


def _positive(amount: Amount, what: str) -> Decimal:
    value = exact(amount)
    if not (value.is_finite() and value > 0):
        raise BadQuantity(f"{amount} {what}; it must be more than 0.")
    return value


def _missing(needed: Decimal, held: Decimal | None) -> Decimal | None:
    if held is None:
        return None
    return needed - held if needed - held > MILLIONTH / 2 else Decimal(0)


def _whole_balls(amount: Decimal, put_up: Decimal) -> int:
    balls = (amount - MILLIONTH / 2) / put_up
    return int(balls.to_integral_value(rounding=ROUND_CEILING))
