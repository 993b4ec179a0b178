"""Where the yarns are in a photo: k-means in CIELAB on a reduced copy, then a box in each."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from palettes.colour.difference import delta_e_2000_matrix
from palettes.colour.light import Box
from palettes.colour.spaces import Floats, linear_to_lab

Labels = NDArray[np.intp]

# Our choices. The copy is small enough to be instant and coarse enough to average out speckles;
# two clusters are kept for what is not yarn; clusters nearer than this are one yarn's shading.
LONG_SIDE = 96
SPARE_CLUSTERS = 3
SAME_YARN_DELTA_E = 7.0
ROUNDS = 30
# A box smaller than this share of the photo is a scrap of background or a label.
MIN_BOX_SHARE = 0.004
# Our choice: a table or wall runs along more of the photo's edge than any skein does.
BACKGROUND_SHARE = 0.4
# Our choice: stay this far inside the found area, away from edges and their shadows.
INSET = 0.08
# An island is one skein of mixed colours when a box (with its inset) fills this much of it, and
# the boxes in its colours together fill less than this much of that box.
MIN_FILLED = 0.5
MAX_SCATTERED = 0.6
WHITE_CLUSTERS = 8
MIDDLE = Box(0.4, 0.4, 0.6, 0.6)


def propose_boxes(photo: Floats, *, count: int = 5, avoid: Sequence[Box] = ()) -> list[Box]:
    """Return up to `count` boxes that each lie inside one evenly coloured area of the photo.

    `photo` is linear-light sRGB (rows, columns, 3); `avoid` marks what is not yarn, such as the
    white paper. Boxes come in reading order. The same photo always gives the same boxes.
    """
    small = reduce_photo(photo)
    labels = cluster(linear_to_lab(small), count + SPARE_CLUSTERS)
    for marked in avoid:
        labels[_slices(marked, labels.shape)] = -1
    areas = _yarn_areas(labels, _background(labels))
    found = [box for area in areas if (box := _largest_box(area)) is not None]
    best = sorted(found, key=_box_size, reverse=True)[:count]
    return sorted(best, key=lambda box: (round(box.top * 4), box.left))


def propose_white(photo: Floats) -> Box:
    """Return a box where white paper may lie: the lightest evenly coloured area, or the middle."""
    lab = linear_to_lab(reduce_photo(photo))
    labels = cluster(lab, WHITE_CLUSTERS)
    areas = [area for label in range(labels.max() + 1) for area in _areas(labels == label)]
    found = [
        (float(lab[area][:, 0].mean()), box)
        for area in areas
        if (box := _largest_box(area)) is not None
    ]
    return max(found, key=lambda light: light[0])[1] if found else MIDDLE


def reduce_photo(photo: Floats) -> Floats:
    """Return a copy whose long side is at most 96 pixels, averaged in linear light."""
    rows, columns = photo.shape[:2]
    step = max(1, -(-max(rows, columns) // LONG_SIDE))
    height, width = max(1, rows // step), max(1, columns // step)
    if rows < step or columns < step:
        return photo.mean(axis=(0, 1), keepdims=True)
    blocks = photo[: height * step, : width * step].reshape(height, step, width, step, 3)
    return np.asarray(blocks.mean(axis=(1, 3)))


def cluster(lab: Floats, count: int) -> Labels:
    """Return each pixel's cluster, from 0, of an L*a*b* image grouped into at most `count`.

    Lloyd's k-means (1982) from the farthest-first points, so nothing is left to chance; then
    clusters closer than 7 CIEDE2000 become one, and lone pixels take their neighbours' cluster.
    """
    # Here and below, where photos are read: scipy's image package takes as long to load as half
    # of the site, and a process that shows pages has no use for it.
    from scipy import ndimage

    smooth = ndimage.median_filter(lab, size=(3, 3, 1), mode="nearest")
    points = smooth.reshape(-1, 3)
    centres = _farthest_first(points, count)
    nearest = _nearest(points, centres)
    for _ in range(ROUNDS):
        centres = np.stack(
            [
                points[nearest == i].mean(axis=0) if (nearest == i).any() else centre
                for i, centre in enumerate(centres)
            ]
        )
        moved = _nearest(points, centres)
        if np.array_equal(moved, nearest):
            break
        nearest = moved
    return np.asarray(_merge_close(centres)[nearest].reshape(lab.shape[:2]))


def _yarn_areas(labels: Labels, background: int | None) -> list[NDArray[np.bool_]]:
    """Return the areas of one yarn each: of one colour, or an island of the table all mixed."""
    kept = labels >= 0
    if background is None:
        return _coloured_areas(labels, kept)
    areas = []
    for island in _areas(kept & (labels != background)):
        coloured = _coloured_areas(labels, island)
        areas += [island] if _is_mixed(island, coloured) else coloured
    return areas


def _coloured_areas(labels: Labels, within: NDArray[np.bool_]) -> list[NDArray[np.bool_]]:
    return [
        area for label in np.unique(labels[within]) for area in _areas(within & (labels == label))
    ]


def _is_mixed(island: NDArray[np.bool_], coloured: list[NDArray[np.bool_]]) -> bool:
    # Skeins that touch are a few large areas; the colours of one skein lie scattered over it.
    whole = _largest_box(island)
    if whole is None or _box_size(whole) < MIN_FILLED * island.mean():
        return False
    boxes = [box for area in coloured if (box := _largest_box(area)) is not None]
    return sum(map(_box_size, boxes)) < MAX_SCATTERED * _box_size(whole)


def _background(labels: Labels) -> int | None:
    """Return the cluster that runs along the photo's edge, unless it is all there is."""
    edge = np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]])
    seen, lengths = np.unique(edge[edge >= 0], return_counts=True)
    if not len(seen) or len(np.unique(labels[labels >= 0])) == 1:
        return None
    longest = int(lengths.argmax())
    return int(seen[longest]) if lengths[longest] > len(edge) * BACKGROUND_SHARE else None


def _farthest_first(points: Floats, count: int) -> Floats:
    # Gonzalez (1985): begin at the most typical point, then keep adding the one farthest away.
    chosen = [points[np.argmin(((points - np.median(points, axis=0)) ** 2).sum(axis=1))]]
    gaps = ((points - chosen[0]) ** 2).sum(axis=1)
    while len(chosen) < count and gaps.max() > 0:
        chosen.append(points[np.argmax(gaps)])
        gaps = np.minimum(gaps, ((points - chosen[-1]) ** 2).sum(axis=1))
    return np.stack(chosen)


def _nearest(points: Floats, centres: Floats) -> Labels:
    gaps = ((points[:, np.newaxis] - centres) ** 2).sum(axis=2)
    return np.asarray(gaps.argmin(axis=1))


def _merge_close(centres: Floats) -> Labels:
    close = delta_e_2000_matrix(centres, centres) < SAME_YARN_DELTA_E
    names = np.arange(len(centres))
    for i in range(len(centres)):
        for j in np.flatnonzero(close[i]):
            names[names == names[j]] = names[i]
    return np.asarray(np.unique(names, return_inverse=True)[1])


def _areas(mask: NDArray[np.bool_]) -> list[NDArray[np.bool_]]:
    from scipy import ndimage

    parts, number = ndimage.label(mask)
    sizes = np.bincount(parts.ravel(), minlength=number + 1)
    return [parts == i for i in range(1, number + 1) if sizes[i] >= MIN_BOX_SHARE * mask.size]


def _largest_box(area: NDArray[np.bool_]) -> Box | None:
    rows, columns = area.shape
    best_size, best = 0, (0, 0, 0, 0)
    heights = np.zeros(columns, dtype=int)
    for row in range(rows):
        heights = np.where(area[row], heights + 1, 0)
        size, left, right, height = _largest_under(heights.tolist())
        if size > best_size:
            best_size, best = size, (left, row + 1 - height, right, row + 1)
    if best_size < MIN_BOX_SHARE * rows * columns:
        return None
    left, top, right, bottom = best
    inset_x, inset_y = INSET * (right - left), INSET * (bottom - top)
    return Box(
        (left + inset_x) / columns,
        (top + inset_y) / rows,
        (right - inset_x) / columns,
        (bottom - inset_y) / rows,
    )


def _largest_under(heights: list[int]) -> tuple[int, int, int, int]:
    """Return (area, left, right, height) of the largest rectangle under a histogram."""
    best = (0, 0, 0, 0)
    stack: list[tuple[int, int]] = []
    for right, height in enumerate([*heights, 0]):
        left = right
        while stack and stack[-1][1] > height:
            left, tall = stack.pop()
            best = max(best, (tall * (right - left), left, right, tall))
        if not stack or stack[-1][1] < height:
            stack.append((left, height))
    return best


def _box_size(box: Box) -> float:
    return (box.right - box.left) * (box.bottom - box.top)


def _slices(box: Box, shape: tuple[int, ...]) -> tuple[slice, slice]:
    rows, columns = shape
    return (
        slice(int(box.top * rows), -int(-box.bottom * rows // 1)),
        slice(int(box.left * columns), -int(-box.right * columns // 1)),
    )
