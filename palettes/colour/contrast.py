"""How well two yarns read side by side in fabric: strong, workable, close or lost.

The thresholds are reasoned, with the measurements behind them, in docs/colour.md.
"""

import math
from collections.abc import Sequence
from enum import StrEnum
from typing import NamedTuple

import numpy as np

from palettes.colour.spaces import Floats
from palettes.colour.stripes import Look, Seen, as_arrays, look_at, pair_indices, see
from palettes.colour.swatch import Fabric, Swatch

# Our choice of viewing distances, in metres: knitting in the lap, a sleeve held out, and a shawl
# worn by somebody on the other side of the room.
IN_HAND_M = 0.4
ARMS_LENGTH_M = 0.7
ACROSS_ROOM_M = 3.0

# CIEDE2000. Our choice: on a knitted surface twice the 1 of smooth patches in a booth, as the
# textile forms of CIE94 and CMC(2:1) also halve the weight of what texture makes hard to see.
JUST_NOTICEABLE = 2.0

# CIEDE2000 left. Our choice: among middle greys one and two whole steps of Munsell value, and
# for the last twice a just noticeable difference, so that nobody has to look for the stripe.
STRONG_FROM = 18.0
WORKABLE_FROM = 9.0
CLOSE_FROM = 2 * JUST_NOTICEABLE

# Our choice: nearer than 0.2 m nobody looks, and at 100 m no knitted stripe of any gauge is left.
_STEPS_M = tuple(np.geomspace(0.2, 100.0, 16).tolist())
_SQUARES_M2 = (0.0, *(step**2 for step in _STEPS_M))
_DISTANCES_M = (0.0, IN_HAND_M, ARMS_LENGTH_M, ACROSS_ROOM_M, *_STEPS_M)


class Grade(StrEnum):
    """How a pair reads, best first."""

    STRONG = "strong"
    WORKABLE = "workable"
    CLOSE = "close"
    LOST = "lost"


GRADES = tuple(Grade)


class Pair(NamedTuple):
    """Two yarns side by side; differences are CIEDE2000, `first` and `second` are positions.

    Every `left_` figure is after the eye's blur at that distance and after the yarns' own
    texture has hidden its share.
    """

    first: int
    second: int
    delta_l: float
    """Difference in L*, never negative: all that a greyscale photo shows."""
    delta_e: float
    """The plain difference of the two means, at no distance and without texture."""
    left_in_hand: float
    left_at_arm: float
    left_across_room: float
    hidden: float
    """How much of the difference at arm's length the yarns' own texture takes away."""
    fades_at_m: float | None
    """Metres beyond which less than a just noticeable difference is left.

    0 when there is none to begin with, None when it lasts beyond 100 m.
    """
    grade: Grade
    grade_if_solid: Grade
    """What the grade would be if neither yarn had any texture."""

    @property
    def left(self) -> float:
        """The difference that grades the pair: what lasts from arm's length to across a room."""
        return min(self.left_at_arm, self.left_across_room)


def compare(first: Swatch, second: Swatch, fabric: Fabric) -> Pair:
    """Return how two yarns read as a stripe of two rows each in this fabric."""
    return compare_all((first, second), fabric)[0]


def compare_all(swatches: Sequence[Swatch], fabric: Fabric) -> tuple[Pair, ...]:
    """Return every pair of the yarns, in the order (0, 1), (0, 2) … (1, 2) …"""
    labs, textures = as_arrays(swatches)
    (seen,) = see([look_closely(labs, textures)], fabric)
    return list_pairs(labs, seen)


def look_closely(labs: Floats, textures: Floats) -> Look:
    """Return the look at one palette, (n, 3) and (n,), from which `list_pairs` makes its pairs."""
    return look_at(labs[np.newaxis], textures[np.newaxis], _DISTANCES_M)


def list_pairs(labs: Floats, seen: Seen) -> tuple[Pair, ...]:
    """Return the pairs of a palette with these L*a*b*, (n, 3), from what `look_closely` showed."""
    places = pair_indices(len(labs)).T.tolist()
    lightness = labs[:, 0].tolist()
    left, solid = seen.left[..., 0].T.tolist(), seen.solid[..., 0].T.tolist()
    return tuple(
        Pair(
            first,
            second,
            abs(lightness[first] - lightness[second]),
            plain,
            in_hand,
            at_arm,
            across,
            blurred[2] - at_arm,
            _fading_distance((nearest, *steps)),
            grade_of(at_arm, across),
            grade_of(blurred[2], blurred[3]),
        )
        for (first, second), (plain,), blurred, (nearest, in_hand, at_arm, across, *steps) in zip(
            places, seen.plain.tolist(), solid, left, strict=True
        )
    )


def grade_of(left_at_arm: float, left_across_room: float) -> Grade:
    """Return the grade of a pair from the CIEDE2000 left at the two distances."""
    throughout = min(left_at_arm, left_across_room)
    if throughout >= STRONG_FROM:
        return Grade.STRONG
    if throughout >= WORKABLE_FROM:
        return Grade.WORKABLE
    return Grade.CLOSE if left_at_arm >= CLOSE_FROM else Grade.LOST


def _fading_distance(left: Sequence[float]) -> float | None:
    """Return where the difference left, at 0 m and at each step, ends up under noticeable."""
    last = len(left) - 1
    while last >= 0 and left[last] < JUST_NOTICEABLE:
        last -= 1
    if last < 0:
        return 0.0
    if last == len(left) - 1:
        return None
    near, far = (math.log(max(amount, 1e-9)) for amount in left[last : last + 2])
    # A Gaussian filter's gain falls as exp(-distance squared): there, lines are straight.
    share = (near - math.log(JUST_NOTICEABLE)) / (near - far)
    start, end = _SQUARES_M2[last : last + 2]
    return math.sqrt(start + share * (end - start))
