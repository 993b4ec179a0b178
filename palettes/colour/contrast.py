"""How well two yarns read side by side in fabric: strong, workable, close or lost.

The thresholds are reasoned, with the measurements behind them, in docs/colour.md.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from palettes.colour.difference import delta_e_2000_pairs
from palettes.colour.fabric import blend, stripe_gains, texture_left, to_opponent
from palettes.colour.spaces import Floats
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
_DISTANCES_M = (0.0, IN_HAND_M, ARMS_LENGTH_M, ACROSS_ROOM_M, *_STEPS_M)


class Grade(StrEnum):
    """How a pair reads, best first."""

    STRONG = "strong"
    WORKABLE = "workable"
    CLOSE = "close"
    LOST = "lost"


GRADES = tuple(Grade)


@dataclass(frozen=True, slots=True)
class Pair:
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
    firsts, seconds = pair_indices(len(swatches))
    labs, textures = as_arrays(swatches)
    seen = see_pairs(labs, textures, fabric, _DISTANCES_M)
    lightness = np.abs(labs[firsts, 0] - labs[seconds, 0])
    columns = (firsts, seconds, lightness, seen.plain, *seen.left[:, 1:4].T)
    return tuple(
        _pair(*row, solid=solid, fades=fades)
        for row, solid, fades in zip(
            zip(*(column.tolist() for column in columns), strict=True),
            seen.solid[:, 2:4].tolist(),
            _fading_distances(np.concatenate([seen.left[:, :1], seen.left[:, 4:]], axis=1)),
            strict=True,
        )
    )


def _pair(
    first: int,
    second: int,
    delta_l: float,
    delta_e: float,
    in_hand: float,
    at_arm: float,
    across: float,
    *,
    solid: tuple[float, float],
    fades: float | None,
) -> Pair:
    return Pair(
        first=first,
        second=second,
        delta_l=delta_l,
        delta_e=delta_e,
        left_in_hand=in_hand,
        left_at_arm=at_arm,
        left_across_room=across,
        hidden=solid[0] - at_arm,
        fades_at_m=fades,
        grade=grade_of(at_arm, across),
        grade_if_solid=grade_of(*solid),
    )


def grade_of(left_at_arm: float, left_across_room: float) -> Grade:
    """Return the grade of a pair from the CIEDE2000 left at the two distances."""
    throughout = min(left_at_arm, left_across_room)
    if throughout >= STRONG_FROM:
        return Grade.STRONG
    if throughout >= WORKABLE_FROM:
        return Grade.WORKABLE
    return Grade.CLOSE if left_at_arm >= CLOSE_FROM else Grade.LOST


def as_arrays(swatches: Sequence[Swatch]) -> tuple[Floats, Floats]:
    """Return the yarns' L*a*b* and textures: shapes (n, 3) and (n,)."""
    labs = np.array([swatch.lab for swatch in swatches], dtype=np.float64).reshape(-1, 3)
    return labs, np.array([swatch.texture for swatch in swatches], dtype=np.float64)


class Seen(NamedTuple):
    """Every pair of a palette's yarns as CIEDE2000, pairs in the order of `pair_indices`."""

    plain: Floats
    """The difference of the means: (..., pairs)."""
    solid: Floats
    """What the eye's blur leaves of it at each distance: (..., pairs, distances)."""
    left: Floats
    """What the yarns' own texture leaves of that: (..., pairs, distances)."""


def see_pairs(
    labs: Floats, textures: Floats, fabric: Fabric, distances_m: tuple[float, ...]
) -> Seen:
    """Return how every pair of each palette is seen: labs (..., n, 3), textures (..., n)."""
    firsts, seconds = pair_indices(labs.shape[-2])
    signals = to_opponent(labs)
    gains = stripe_gains(fabric, distances_m)
    plain, solid = _see(
        np.stack([labs[..., firsts, :], labs[..., seconds, :]]),
        blend(signals[..., firsts, :], signals[..., seconds, :], gains),
    )
    noise = pair_texture(textures[..., firsts], textures[..., seconds])
    left = hide(solid, noise[..., np.newaxis] * texture_left(fabric, distances_m))
    return Seen(plain, solid, left)


def _see(means: Floats, blended: Floats) -> tuple[Floats, Floats]:
    """Return the plain differences (...) and those seen at the distances (..., distances).

    Both arrays hold the two sides of each pair in their first axis.
    """
    # The plain pairs ride along in front: the formula costs by the call rather than by the pair.
    near, far = (
        np.concatenate([mean[..., np.newaxis, :], stripes], axis=-2)
        for mean, stripes in zip(means, blended, strict=True)
    )
    seen = delta_e_2000_pairs(near, far)
    plain = seen[..., 0]
    # The filter's matrix tints a grey stripe a little as its lightness fades, which CIEDE2000
    # counts as a gain; no distance may show more than there is.
    return plain, np.minimum(seen[..., 1:], plain[..., np.newaxis])


def pair_texture(first: Floats, second: Floats) -> Floats:
    """Return the texture of a pair, from both spreads, on the scale of its difference.

    Two stripes D apart stray D / 2 from their common mean; the yarns stray by their spreads.
    Twice the root mean square of those therefore compares with D itself.
    """
    return np.asarray(np.sqrt(2 * (first**2 + second**2)))


def hide(seen: Floats, texture: Floats) -> Floats:
    """Return what is left of a difference when texture competes with it.

    The difference is scaled by the root of the share of all variation that the stripe accounts
    for: all of it beside solid yarns, about 0.7 where texture and stripe are equal. Our choice,
    after divisive masking in vision science, where a mask divides the response to its target.
    """
    total = np.hypot(seen, texture)
    share = np.divide(seen, total, out=np.zeros_like(total), where=total > 0)
    return np.asarray(seen * share)


def _fading_distances(left: Floats) -> list[float | None]:
    """Return where each row of `left`, at 0 m and each step, last falls under just noticeable."""
    visible = left >= JUST_NOTICEABLE
    last = left.shape[1] - 1 - np.argmax(visible[:, ::-1], axis=1)
    beyond = np.minimum(last + 1, left.shape[1] - 1)
    rows = np.arange(len(left))
    # A Gaussian filter's gain falls as exp(-distance squared): there, lines are straight.
    squares = np.square((0.0, *_STEPS_M))
    logs = np.log(np.maximum(left, 1e-9))
    near, far = logs[rows, last], logs[rows, beyond]
    fall = np.where(near > far, near - far, 1.0)
    share = (near - math.log(JUST_NOTICEABLE)) / fall
    reach = np.sqrt(squares[last] + share * (squares[beyond] - squares[last]))
    known = np.where(visible.any(axis=1), reach, 0.0)
    return [
        None if lasts else distance
        for lasts, distance in zip(visible[:, -1].tolist(), known.tolist(), strict=True)
    ]


@lru_cache(maxsize=16)
def pair_indices(count: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the positions of the first and of the second yarn of every pair of `count`."""
    firsts, seconds = np.triu_indices(count, k=1)
    return firsts, seconds
