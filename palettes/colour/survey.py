"""The audit's numbers for many palettes at once: a crowd's, or every set of candidates.

The same arithmetic as `audit`, without words: a test holds the two together.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from palettes.colour.contrast import (
    ACROSS_ROOM_M,
    ARMS_LENGTH_M,
    CLOSE_FROM,
    GRADES,
    STRONG_FROM,
    WORKABLE_FROM,
    Grade,
    pair_indices,
    see_pairs,
)
from palettes.colour.ladder import DARK_BELOW, GREY_STEP, LIGHT_FROM
from palettes.colour.spaces import Floats
from palettes.colour.swatch import Fabric
from palettes.colour.vision import simulate_every_kind

# Palettes worked on at a time: few enough for the intermediate arrays to stay in cache.
CHUNK = 1000

_DISTANCES_M = (ARMS_LENGTH_M, ACROSS_ROOM_M)


@dataclass(frozen=True, slots=True)
class Survey:
    """Row i is palette i; pairs are in the order of `contrast.pair_indices`."""

    delta_l: Floats
    """(palettes, pairs)"""
    delta_e: Floats
    """Plain CIEDE2000: (palettes, pairs)."""
    left: Floats
    """CIEDE2000 left from arm's length to across a room: (palettes, pairs)."""
    grades: NDArray[np.int8]
    """Positions in `contrast.GRADES`, 0 the strongest: (palettes, pairs)."""
    greys: NDArray[np.int8]
    """Distinct greys: (palettes,)."""
    missing: NDArray[np.bool_]
    """Whether light, medium and dark are missing: (palettes, 3)."""
    vision_left: Floats | None
    """What protan, deutan and tritan eyes have left of their worst pair: (palettes, 3)."""

    @property
    def worst_grades(self) -> NDArray[np.int8]:
        """The position in `contrast.GRADES` of each palette's worst pair: (palettes,)."""
        return np.asarray(self.grades.max(axis=1), dtype=np.int8)


def survey(labs: Floats, textures: Floats, fabric: Fabric, *, with_vision: bool = False) -> Survey:
    """Return the numbers of palettes of n yarns each: labs (palettes, n, 3), textures (…, n).

    `with_vision` also works out the three deficiencies, at four times the cost.
    """
    firsts, seconds = pair_indices(labs.shape[1])
    chunks = [
        _look(labs[start : start + CHUNK], textures[start : start + CHUNK], fabric, with_vision)
        for start in range(0, max(len(labs), 1), CHUNK)
    ]
    plain, at_arm, across, vision = (np.concatenate(parts) for parts in zip(*chunks, strict=True))
    lightness = labs[..., 0]
    left = np.minimum(at_arm, across)
    return Survey(
        delta_l=np.abs(lightness[:, firsts] - lightness[:, seconds]),
        delta_e=plain,
        left=left,
        grades=grades_of_many(left, at_arm),
        greys=_count_greys(np.sort(lightness, axis=1)),
        missing=_missing(lightness),
        vision_left=vision if with_vision else None,
    )


def _look(
    labs: Floats, textures: Floats, fabric: Fabric, with_vision: bool
) -> tuple[Floats, Floats, Floats, Floats]:
    seen = see_pairs(labs, textures, fabric, _DISTANCES_M)
    vision = np.empty((len(labs), 0))
    if with_vision:
        three = np.moveaxis(simulate_every_kind(labs.reshape(-1, 3)), 0, 1)
        three = np.swapaxes(three.reshape(*labs.shape[:2], 3, 3), 1, 2)
        same = np.broadcast_to(textures[:, np.newaxis], three.shape[:-1])
        vision = see_pairs(three, same, fabric, _DISTANCES_M).left.min(axis=(-2, -1))
    return seen.plain, seen.left[..., 0], seen.left[..., 1], vision


def grades_of_many(left: Floats, at_arm: Floats) -> NDArray[np.int8]:
    """Return positions in `contrast.GRADES`, as `contrast.grade_of` grades each pair."""
    grades = np.where(at_arm >= CLOSE_FROM, GRADES.index(Grade.CLOSE), GRADES.index(Grade.LOST))
    grades = np.where(left >= WORKABLE_FROM, GRADES.index(Grade.WORKABLE), grades)
    return np.where(left >= STRONG_FROM, GRADES.index(Grade.STRONG), grades).astype(np.int8)


def _count_greys(rungs: Floats) -> NDArray[np.int8]:
    """Return `ladder`'s count for rows of L* in ascending order."""
    counts = np.zeros(len(rungs), dtype=np.int8)
    last = np.full(len(rungs), -np.inf)
    for rung in rungs.T:
        taken = rung - last >= GREY_STEP
        counts += taken
        last = np.where(taken, rung, last)
    return counts


def _missing(lightness: Floats) -> NDArray[np.bool_]:
    light, dark = lightness >= LIGHT_FROM, lightness < DARK_BELOW
    present = [light.any(axis=1), (~light & ~dark).any(axis=1), dark.any(axis=1)]
    return ~np.stack(present, axis=1)
