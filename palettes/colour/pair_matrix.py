"""The contrast left between every two yarns, as arrays, for searches over many palettes."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from palettes.colour.contrast import ACROSS_ROOM_M, ARMS_LENGTH_M
from palettes.colour.spaces import Floats
from palettes.colour.stripes import as_arrays, pair_indices, see_pairs
from palettes.colour.swatch import Fabric, Swatch

# Palettes worked on at a time: few enough for the intermediate arrays to stay in cache.
_AT_ONCE = 500


@dataclass(frozen=True, slots=True, eq=False)
class PairsLeft:
    """CIEDE2000 left of each pair, in the order of `pair_indices`: both (..., pairs)."""

    at_arm: Floats
    throughout: Floats
    """The lesser of what is left at arm's length and across a room."""


def pairs_left(labs: Floats, textures: Floats, fabric: Fabric) -> PairsLeft:
    """Return what is left of every pair of each palette: (palettes, n, 3), (…, n) -> (…, pairs)."""
    left = see_pairs(labs, textures, fabric, (ARMS_LENGTH_M, ACROSS_ROOM_M)).left
    return PairsLeft(at_arm=left[0].T, throughout=np.asarray(left.min(axis=0).T, dtype=np.float64))


def many_pairs_left(labs: Floats, textures: Floats, fabric: Fabric) -> PairsLeft:
    """Return `pairs_left` of a crowd: (palettes, n, 3), (palettes, n) -> (palettes, pairs)."""
    shape = (len(labs), math.comb(labs.shape[1], 2))
    left = PairsLeft(at_arm=np.empty(shape), throughout=np.empty(shape))
    for start in range(0, len(labs), _AT_ONCE):
        part = slice(start, start + _AT_ONCE)
        seen = pairs_left(labs[part], textures[part], fabric)
        left.at_arm[part], left.throughout[part] = seen.at_arm, seen.throughout
    return left


def left_of(swatches: Sequence[Swatch], fabric: Fabric) -> PairsLeft:
    """Return what is left of every pair of these yarns, shape (pairs,)."""
    labs, textures = as_arrays(swatches)
    left = pairs_left(labs[np.newaxis], textures[np.newaxis], fabric)
    return PairsLeft(left.at_arm[0], left.throughout[0])


def square(pairs: Floats, count: int) -> Floats:
    """Return a symmetric matrix of one value for each pair: (pairs,) -> (count, count)."""
    firsts, seconds = pair_indices(count)
    matrix = np.zeros((count, count))
    matrix[firsts, seconds] = matrix[seconds, firsts] = pairs
    return matrix
