"""Whether there is enough of each yarn for the letter that it is given.

What is not known is not short: a yarn whose ball band or number of balls nobody has said fits
every letter, and so does every yarn a letter whose need is not told.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from palettes.colour.quantities import MILLIONTH, Quantity, check_quantities, held
from palettes.colour.spaces import Floats
from palettes.colour.swatch import Need, Swatch

# How many there are to a gram or metre: 2.3 balls of 43.5 m cover 100.05 m.
_MILLION = int(1 / MILLIONTH)

Flags = NDArray[np.bool_]


def held_of(swatches: Sequence[Swatch]) -> Floats:
    """Return the grams and metres there are of each yarn, NaN where unknown: (yarns, 2)."""
    amounts = [
        [held(swatch.balls, put_up) for put_up in (swatch.put_up_grams, swatch.put_up_metres)]
        for swatch in swatches
    ]
    known = [[np.nan if amount is None else float(amount) for amount in row] for row in amounts]
    return np.array(known).reshape(-1, 2)


def shortages(held: Floats, needs: Sequence[Need], letters: str) -> Flags:
    """Return whether each yarn is known to fall short of each letter: (..., yarns, letters).

    `held` is grams and metres: (..., yarns, 2).
    """
    asked = {need.letter: (need.grams, need.metres) for need in needs}
    needed = np.array([asked.get(letter, (0.0, 0.0)) for letter in letters])
    missing = np.rint(held * _MILLION)[..., np.newaxis, :] < np.rint(needed * _MILLION)
    return np.asarray(missing.any(axis=-1))


def is_enough(short: Flags, orders: NDArray[np.intp]) -> Flags:
    """Return whether no letter's yarn falls short: (palettes, yarns, letters) in each of the ways.

    `orders` is (ways, letters), and the answer (palettes, ways).
    """
    return np.asarray(~short[:, orders, np.arange(orders.shape[1])].any(axis=-1))


def is_enough_each(short: Flags, orders: NDArray[np.intp]) -> Flags:
    """Return `is_enough` of one way for each palette: `orders` is (palettes, letters)."""
    chosen = np.take_along_axis(short, orders[:, np.newaxis, :], axis=1)
    return np.asarray(~chosen.any(axis=(1, 2)))


def quantities_of(
    swatches: Sequence[Swatch], needs: Sequence[Need], yarns: Mapping[str, int]
) -> tuple[Quantity, ...]:
    """Return what each letter takes against its yarn, a position in `swatches`."""
    told = [need for need in needs if need.letter in yarns]
    return check_quantities(swatches, told, [yarns[need.letter] for need in told])
