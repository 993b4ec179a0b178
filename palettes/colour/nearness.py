"""Which palettes of a crowd are closest to one of them, by the best matching of their yarns.

The distance of two palettes of n yarns is the mean CIEDE2000 of their yarns paired off so that it
is least: an assignment problem. Working it out for everybody is what takes the time, so it is
done only for those whom a lower bound does not rule out; the answer is the same. Why the bound
holds is in docs/gallery.md.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from palettes.colour.difference import delta_e_2000_pairs
from palettes.colour.difference_bounds import Boxes, Singles, boxes_of, least_differences
from palettes.colour.spaces import AnyFloats, Floats

type Places = NDArray[np.intp]

# Side of the cells that colours are sorted into, in about CIEDE2000. Our choice: of 2, 2.5, 3, 3.5
# and 4 the quickest for 100,000 palettes.
CELL: Final = 3.0
# Palettes worked out first to learn how near the nearest are: of so many whom the rougher bound
# puts first, those with the least bound.
LIKELY, PROBED = 1_000, 100
# Palettes worked on at a time: few enough for the intermediate arrays to stay in cache.
AT_ONCE: Final = 4_000


class Near(NamedTuple):
    """A palette near another."""

    place: int
    """Its row in the crowd."""
    distance: float
    """The mean CIEDE2000 of its yarns from those they are paired with."""
    partners: tuple[int, ...]
    """For each yarn of the palette asked about, which of its own is the partner."""


@dataclass(frozen=True, slots=True, eq=False)
class Crowd:
    """Palettes of n yarns each, their colours sorted into cells."""

    labs: Floats
    """(palettes, n, 3)"""
    cells: Places
    """The number of each yarn's cell, a plane for each yarn: (n, palettes)."""
    boxes: Boxes
    """Between what the yarns of each cell lie."""

    def __len__(self) -> int:
        return len(self.labs)


def sort_crowd(labs: Floats) -> Crowd:
    """Return the crowd of these palettes: (palettes, n, 3)."""
    flat = labs.reshape(-1, 3)
    _, cells = np.unique(_cell_numbers(flat), return_inverse=True)
    return Crowd(
        labs=labs,
        cells=np.ascontiguousarray(cells.reshape(labs.shape[:2]).T),
        boxes=boxes_of(flat, cells),
    )


def nearest(asked: Floats, crowd: Crowd, count: int) -> list[Near]:
    """Return the `count` palettes closest to the one asked about, (n, 3), closest first.

    Of two equally close the one further on in the crowd comes first.
    """
    if not len(crowd) or not count:
        return []
    places = hopeful(asked, crowd, count)
    distances = matched(asked, crowd.labs[places])
    order = np.lexsort((-places, distances))[:count]
    partners = _partners(asked, crowd.labs[places[order]])
    return [
        Near(int(places[i]), float(distances[i]), paired)
        for i, paired in zip(order, partners, strict=True)
    ]


def hopeful(asked: Floats, crowd: Crowd, count: int) -> Places:
    """Return those who may be among the `count` closest: nobody else is."""
    table = least_differences(asked, crowd.boxes)
    unmatched = _unmatched(table, crowd.cells)
    likely = _smallest(unmatched, max(LIKELY, count))
    probed = likely[_smallest(_least(table, crowd.cells[:, likely]), max(PROBED, count))]
    reach = np.sort(matched(asked, crowd.labs[probed]))[:count][-1]
    places: Places = np.flatnonzero(unmatched <= reach)
    return np.compress(_least(table, crowd.cells[:, places]) <= reach, places)


def _unmatched(table: Singles, cells: Places) -> Singles:
    """Return a bound below `_least`: each yarn paired with what it is closest to, taken or not."""
    nearest_to = table.min(axis=0) / np.float32(len(table))
    return np.asarray(sum(np.take(nearest_to, plane) for plane in cells))


def _least(table: Singles, cells: Places) -> Singles:
    """Return a bound below each palette's distance, from those for its yarns' cells."""
    size, rows = cells.shape
    distances = np.empty(rows, dtype=np.float32)
    for start in range(0, rows, AT_ONCE):
        part = slice(start, start + AT_ONCE)
        planes = np.empty((size, size, len(distances[part])), dtype=np.float32)
        for row, column in np.ndindex(size, size):
            np.take(table[row], cells[column, part], out=planes[row, column], mode="clip")
        distances[part] = _cheapest_planes(planes)
    return distances


def matched(asked: Floats, labs: Floats) -> Floats:
    """Return the distance of each palette from the one asked about: (n, 3), (m, n, 3) -> (m,)."""
    distances = np.empty(len(labs))
    for start in range(0, len(labs), AT_ONCE):
        part = slice(start, start + AT_ONCE)
        distances[part] = cheapest(delta_e_2000_pairs(asked[:, np.newaxis], labs[part, np.newaxis]))
    return distances


def cheapest(costs: Floats) -> Floats:
    """Return the mean cost of each best assignment: (m, n, n) -> (m,)."""
    return np.asarray(_cheapest_planes(np.ascontiguousarray(costs.transpose(1, 2, 0))))


def _cheapest_planes(costs: AnyFloats) -> AnyFloats:
    """Return the mean cost of each best assignment: (n, n, m) -> (m,).

    Held and Karp's recurrence over sets of columns: n 2^(n-1) steps, each for all m at once, which
    for the two to eight yarns of a palette is quicker than solving m problems one by one.
    """
    size = len(costs)
    best = {frozenset([column]): costs[0, column] for column in range(size)}
    for row in range(1, size):
        best = {
            columns: np.minimum.reduce(
                [best[columns - {column}] + costs[row, column] for column in columns]
            )
            for columns in map(frozenset, combinations(range(size), row + 1))
        }
    return np.asarray(best[frozenset(range(size))] / size)


def _partners(asked: Floats, labs: Floats) -> Iterator[tuple[int, ...]]:
    # Loaded with the first question: scipy's optimisers take longer to load than most pages here.
    from scipy.optimize import linear_sum_assignment

    for costs in delta_e_2000_pairs(asked[:, np.newaxis], labs[:, np.newaxis]):
        _, columns = linear_sum_assignment(costs)
        yield tuple(columns.tolist())


def _smallest(values: Singles, count: int) -> Places:
    if len(values) <= count:
        return np.arange(len(values))
    return np.argpartition(values, count)[:count]


def _cell_numbers(labs: Floats) -> NDArray[np.int64]:
    """Return which cell each colour lies in: (m, 3) -> (m,).

    Cells are cubes where lightness and chroma are drawn together as CIEDE2000 weighs them.
    """
    light, a, b = labs.T
    chroma = np.hypot(a, b)
    stretched = a * (1.5 - 0.5 * np.sqrt(chroma**7 / (chroma**7 + 25.0**7)))
    length = np.hypot(stretched, b)
    drawn = np.log1p(0.045 * length) / (0.045 * np.maximum(length, 1e-9))
    off = light - 50
    spread = np.sign(off) * np.log1p(0.015 * np.abs(off)) / 0.015
    steps = np.floor(np.stack([spread, stretched * drawn, b * drawn]) / CELL).astype(np.int64)
    # No coordinate is further than 200 from the middle, or 100 cells at a side of 2.
    first, second, third = steps + 512
    return np.asarray((first * 1024 + second) * 1024 + third)
