"""The audit's numbers for many palettes at once: a crowd's, or every set of candidates.

The same arithmetic as `audit`, without words, in single precision, which is twice as fast and
strays by less than `TOLERANCE`: a test holds the two together.
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
)
from palettes.colour.ladder import DARK_BELOW, GREY_STEP, LIGHT_FROM
from palettes.colour.spaces import AnyFloats, Floats
from palettes.colour.stripes import look_at, pair_indices, see
from palettes.colour.swatch import Fabric
from palettes.colour.vision import look_deficient

# Palettes worked on at a time: few enough for the intermediate arrays to stay in cache.
CHUNK = 300

# CIEDE2000. Nearly opposite hues lose the most: there a small difference of two large products
# is taken. The most seen among 200,000 random pairs was 0.024.
TOLERANCE = 0.05

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

    `with_vision` also works out the three deficiencies, at three times the cost.
    """
    firsts, seconds = pair_indices(labs.shape[1])
    lightness = labs[..., 0]
    rows = [slice(start, start + CHUNK) for start in range(0, max(len(labs), 1), CHUNK)]
    chunks = [
        _look(labs[part].astype(np.float32), textures[part].astype(np.float32), fabric, with_vision)
        for part in rows
    ]
    plain, at_arm, left, *vision = (np.concatenate(parts) for parts in zip(*chunks, strict=True))
    return Survey(
        delta_l=np.abs(lightness[:, firsts] - lightness[:, seconds]),
        delta_e=plain,
        left=left,
        grades=grades_of_many(left, at_arm),
        greys=_count_greys(np.sort(lightness, axis=1)),
        missing=_missing(lightness),
        vision_left=vision[0] if with_vision else None,
    )


def _look(
    labs: Floats, textures: Floats, fabric: Fabric, with_vision: bool
) -> tuple[AnyFloats, ...]:
    look = look_at(labs, textures, _DISTANCES_M)
    looks = [look, look_deficient(look, _DISTANCES_M)] if with_vision else [look]
    seen, *deficient = see(looks, fabric)
    vision = [one.left.min(axis=(0, 1)).reshape(3, -1).T for one in deficient]
    return seen.plain.T, seen.left[0].T, seen.left.min(axis=0).T, *vision


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
