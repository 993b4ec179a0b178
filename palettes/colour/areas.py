"""A picture cut into areas of one yarn each: grouped by colour, then neighbours joined.

Four reasons join neighbours. A scrap is no yarn, so it goes to the neighbour it touches most.
Areas of nearly one colour are one yarn's shading. Where two colours lie scattered over one another,
as speckles and variegations do, a box over both is far larger than a box in each; of two yarns that
only touch it is hardly larger. And where the boxes in all the parts of an island are little of the
box over the whole of it, no part is a yarn.
"""

from collections.abc import Sequence

import numpy as np

from palettes.colour.difference import delta_e_2000, delta_e_2000_pairs
from palettes.colour.kmeans import Labels, group_points
from palettes.colour.rectangles import Mask, largest_turned_size
from palettes.colour.spaces import Floats, Lab

# Our choices, set by benchmarks/photo_regions.py. A scrap is smaller than this share of a picture.
SCRAP_SHARE = 0.0015
# A box smaller than this share of a picture is too small to be marked as a yarn.
MIN_BOX_SHARE = 0.004
# CIEDE2000 between the means of neighbours that are one yarn's shading.
SAME_YARN_DELTA_E = 7.0
# A box over two areas is larger than theirs together by this much for every CIEDE2000 they differ.
GAIN_FOR_DELTA_E = 1 / 60
# Degrees at which boxes are tried, for skeins that lie aslant: 15 is the furthest from any of them.
ANGLES = (0.0, 30.0, 60.0)
# An island is one yarn when a box fills this much of it, and those in its parts less than this much
# of that box. Wraps and skeins that touch fill most of it.
MIN_FILLED = 0.5
MAX_SCATTERED = 0.5


def even_areas(lab: Floats, within: Mask, clusters: int) -> list[Mask]:
    """Return the areas of nearly one colour each of an L*a*b* picture."""
    parts = Parts(lab, _connected(lab, within, clusters))
    parts.absorb_scraps(SCRAP_SHARE * within.size)
    parts.join_alike()
    return parts.masks()


def yarn_areas(lab: Floats, within: Mask, clusters: int) -> list[Mask]:
    """Return the areas of one yarn each, of one colour or of several that lie scattered."""
    parts = Parts(lab, _connected(lab, within, clusters))
    parts.absorb_scraps(SCRAP_SHARE * within.size)
    parts.join_alike()
    parts.join_scattered()
    parts.join_islands()
    return parts.masks()


def _connected(lab: Floats, within: Mask, clusters: int) -> Labels:
    """Return the number, from 0, of the connected area of one cluster at each pixel, else -1."""
    # Here and where photos are read: scipy's image package takes as long to load as half of the
    # site, and a process that shows pages has no use for it.
    from scipy import ndimage

    nearest, centres = group_points(lab[within], clusters)
    clustered = np.full(within.shape, -1)
    clustered[within] = nearest
    names, count = np.full(within.shape, -1), 0
    for cluster in range(len(centres)):
        parts, number = ndimage.label(clustered == cluster)
        names[parts > 0] = parts[parts > 0] - 1 + count
        count += number
    return names


class Parts:
    """The areas of a picture, and how far they touch, while neighbours are joined."""

    def __init__(self, lab: Floats, names: Labels) -> None:
        self._names = names
        kept, count = names >= 0, int(names.max()) + 1
        self._sizes = np.bincount(names[kept], minlength=count)
        self._sums = np.stack(
            [np.bincount(names[kept], axis, minlength=count) for axis in lab[kept].T], axis=1
        )
        self._kept_as = np.arange(count)
        self._borders = _borders(names, count)

    def absorb_scraps(self, least: float) -> None:
        """Join every area of fewer than `least` pixels, small first, to what it touches most."""
        while scraps := [part for part in self._borders if self._is_scrap(part, least)]:
            # Equals in the order of their places: nothing is left to chance.
            for scrap in sorted(scraps, key=lambda part: (self._sizes[part], part)):
                if scrap in self._borders and self._is_scrap(scrap, least):
                    touched = self._borders[scrap]
                    self._join(max(touched, key=lambda part: (touched[part], -part)), scrap)

    def _is_scrap(self, part: int, least: float) -> bool:
        return bool(self._sizes[part] < least and self._borders[part])

    def join_alike(self) -> None:
        """Join neighbours of nearly one colour, the nearest first."""
        while pairs := self._neighbours():
            means = self._sums / np.maximum(self._sizes, 1)[:, np.newaxis]
            first, second = np.array(pairs).T
            gaps = delta_e_2000_pairs(means[first], means[second])
            if gaps.min() >= SAME_YARN_DELTA_E:
                return
            self._join(*pairs[gaps.argmin()])

    def join_scattered(self) -> None:
        """Join neighbours that a box over both fits far better, the best fit first."""
        masks = {part: self._mask(part) for part in self._borders}
        sizes = {part: _room(mask) for part, mask in masks.items()}
        known: dict[tuple[int, int], float] = {}
        while pairs := self._neighbours():
            for first, second in pairs:
                if (first, second) not in known:
                    apart = max(1, sizes[first] + sizes[second])
                    wanted = apart * (1 + GAIN_FOR_DELTA_E * self._difference(first, second))
                    known[first, second] = _fit(masks[first] | masks[second], wanted)
            best = max(pairs, key=lambda pair: known[pair])
            if known[best] <= 1:
                return
            kept, gone = best
            self._join(kept, gone)
            masks[kept] |= masks.pop(gone)
            sizes[kept] = _room(masks[kept])
            known = {pair: fit for pair, fit in known.items() if not {kept, gone} & {*pair}}

    def join_islands(self) -> None:
        """Join all of an island whose parts are too scattered to be yarns."""
        for island in self._islands():
            rooms = np.array([_room(self._mask(part)) for part in island])
            boxes = rooms[rooms >= MIN_BOX_SHARE * self._names.size]
            whole = np.logical_or.reduce([self._mask(part) for part in island])
            room = _room(whole)
            if room > MIN_FILLED * whole.sum() and boxes.sum() < MAX_SCATTERED * room:
                for part in island[1:]:
                    self._join(island[0], part)

    def _islands(self) -> list[list[int]]:
        """Return the parts that touch, directly or over others, of every island with several."""
        islands, left = [], set(self._borders)
        while left:
            island = [left.pop()]
            for part in island:
                beside = left & self._borders[part].keys()
                left -= beside
                island += sorted(beside)
            islands.append(sorted(island))
        return [island for island in islands if len(island) > 1]

    def masks(self) -> list[Mask]:
        """Return the areas as they are now."""
        return [self._mask(part) for part in self._borders]

    def _mask(self, part: int) -> Mask:
        return np.asarray((self._names >= 0) & (self._kept_as == part)[self._names])

    def _neighbours(self) -> list[tuple[int, int]]:
        return [
            (part, other) for part in self._borders for other in self._borders[part] if part < other
        ]

    def _difference(self, first: int, second: int) -> float:
        one, two = (Lab(*(self._sums[part] / self._sizes[part])) for part in (first, second))
        return delta_e_2000(one, two)

    def _join(self, kept: int, gone: int) -> None:
        self._kept_as[self._kept_as == gone] = kept
        self._sizes[kept] += self._sizes[gone]
        self._sums[kept] += self._sums[gone]
        for other, length in self._borders.pop(gone).items():
            del self._borders[other][gone]
            if other != kept:
                together = self._borders[kept].get(other, 0) + length
                self._borders[kept][other] = self._borders[other][kept] = together


def _room(area: Mask) -> int:
    return largest_turned_size(area, ANGLES)


def _fit(both: Mask, wanted: float) -> float:
    # A box cannot be larger than its area; looking for it costs most of the time.
    return _room(both) / wanted if both.sum() > wanted else 0.0


def _borders(names: Labels, count: int) -> dict[int, dict[int, int]]:
    """Return, for each part, the parts beside it and how many pixels long they touch."""
    borders: dict[int, dict[int, int]] = {part: {} for part in range(count)}
    steps: Sequence[tuple[Labels, Labels]] = (
        (names[:, :-1], names[:, 1:]),
        (names[:-1], names[1:]),
    )
    ends = np.concatenate([np.stack([one.ravel(), two.ravel()], axis=1) for one, two in steps])
    ends = np.sort(ends[(ends[:, 0] != ends[:, 1]) & (ends >= 0).all(axis=1)], axis=1)
    codes, lengths = np.unique(ends[:, 0] * count + ends[:, 1], return_counts=True)
    for code, length in zip(codes.tolist(), lengths.tolist(), strict=True):
        first, second = divmod(code, count)
        borders[first][second] = borders[second][first] = length
    return borders
