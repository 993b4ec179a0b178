"""Colours grouped by k-means."""

import numpy as np
from numpy.typing import NDArray

from palettes.colour.spaces import Floats

Labels = NDArray[np.intp]

ROUNDS = 20  # Our choice: after it hardly a pixel moves.


def group_points(points: Floats, count: int) -> tuple[Labels, Floats]:
    """Return each point's group, from 0, of at most `count`, and the groups' means.

    Lloyd's k-means (1982) from the farthest-first points, so nothing is left to chance.
    """
    centres = _farthest_first(points, count)
    nearest = _nearest(points, centres)
    for _ in range(ROUNDS):
        centres = _means(points, nearest, centres)
        moved = _nearest(points, centres)
        if np.array_equal(moved, nearest):
            break
        nearest = moved
    return nearest, centres


def _farthest_first(points: Floats, count: int) -> Floats:
    # Gonzalez (1985): begin at the most typical point, then keep adding the one farthest away.
    chosen = [points[np.argmin(((points - np.median(points, axis=0)) ** 2).sum(axis=1))]]
    gaps = ((points - chosen[0]) ** 2).sum(axis=1)
    while len(chosen) < count and gaps.max() > 0:
        chosen.append(points[np.argmax(gaps)])
        gaps = np.minimum(gaps, ((points - chosen[-1]) ** 2).sum(axis=1))
    return np.stack(chosen)


def _means(points: Floats, nearest: Labels, before: Floats) -> Floats:
    sizes = np.bincount(nearest, minlength=len(before))
    sums = [np.bincount(nearest, axis, minlength=len(before)) for axis in points.T]
    means = np.stack(sums, axis=1) / np.maximum(sizes, 1)[:, np.newaxis]
    return np.where(sizes[:, np.newaxis] > 0, means, before)


def _nearest(points: Floats, centres: Floats) -> Labels:
    # The point's own square is the same for every centre and left out.
    gaps = (centres**2).sum(axis=1) - 2 * (points @ centres.T)
    return np.asarray(gaps.argmin(axis=1))
