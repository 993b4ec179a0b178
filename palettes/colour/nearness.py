"""Which palettes of a crowd are closest to one of them, by the best matching of their yarns.

The distance of two palettes of n yarns is the mean CIEDE2000 of their yarns paired off so that it
is least: an assignment problem. Working it out for everybody is what takes the time, so it is
done only for those whom a lower bound does not rule out; the answer is the same. The bound and
how it was measured are in docs/gallery.md.
"""

from dataclasses import dataclass
from itertools import combinations
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from palettes.colour.difference import (
    delta_e_2000_matrix,
    delta_e_2000_pairs,
    delta_e_2000_planes,
)
from palettes.colour.spaces import AnyFloats, Floats

type Places = NDArray[np.intp]
type Singles = NDArray[np.float32]

# Side of the cells that colours are sorted into, in about CIEDE2000. Our choice: of 2, 2.5, 3, 3.5
# and 4 the quickest for 100,000 palettes.
CELL: Final = 3.0
# The distance to the centres of a palette's cells passes its own distance by no more than `SLOPE`
# times how far its yarns lie from their centres, in the mean, and a slack beside. Measured, not
# proven, as CIEDE2000 is no metric: of 5 million pairs of palettes up to 12 apart none needed
# more slack than 1.4, and up to 16 apart, where opposite hues begin to be paired, 3.1. Beyond, or
# if the nearest are beyond, everybody is worked out. `benchmarks.gallery_near --bound` repeats it.
SLOPE: Final = 0.75
SLACKS: Final = ((12.0, 2.0), (16.0, 4.0))
# Palettes worked out first, nearest by their cells, to learn how near the nearest are.
PROBED: Final = 100
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
    """The row in `centres` of each yarn's cell, a plane for each yarn: (n, palettes)."""
    centres: Floats
    """The mean colour of each cell that holds a yarn: (cells, 3)."""
    strayed: Singles
    """`SLOPE` times how far each palette's yarns lie from their centres: (palettes,)."""

    def __len__(self) -> int:
        return len(self.labs)


def sort_crowd(labs: Floats) -> Crowd:
    """Return the crowd of these palettes: (palettes, n, 3)."""
    flat = labs.reshape(-1, 3)
    _, cells = np.unique(_cell_numbers(flat), return_inverse=True)
    sizes = np.bincount(cells)
    sums = [np.bincount(cells, weights=plane) for plane in flat.T]
    centres = np.stack(sums, axis=1) / sizes[:, np.newaxis]
    strayed = delta_e_2000_pairs(flat, centres[cells]).reshape(labs.shape[:2]).mean(axis=1)
    return Crowd(
        labs=labs,
        cells=np.ascontiguousarray(cells.reshape(labs.shape[:2]).T),
        centres=centres,
        strayed=(SLOPE * strayed).astype(np.float32),
    )


def nearest(asked: Floats, crowd: Crowd, count: int) -> list[Near]:
    """Return the `count` palettes closest to the one asked about, (n, 3), closest first.

    Of two equally close the one further on in the crowd comes first.
    """
    if not len(crowd) or not count:
        return []
    rough = to_cells(asked, crowd)
    probed = _smallest(rough, max(PROBED, count))
    reach = np.sort(matched(asked, crowd.labs[probed]))[:count][-1]
    slack = next((slack for apart, slack in SLACKS if reach <= apart), np.inf)
    places = np.flatnonzero(rough - crowd.strayed - slack <= reach)
    distances = matched(asked, crowd.labs[places])
    order = np.lexsort((-places, distances))[:count]
    return [
        Near(int(places[i]), float(distances[i]), _partners(asked, crowd.labs[places[i]]))
        for i in order
    ]


def to_cells(asked: Floats, crowd: Crowd) -> Singles:
    """Return each palette's distance as if its yarns lay in the centres of their cells."""
    size, rows = crowd.cells.shape
    table = _table(asked, crowd.centres)
    distances = np.empty(rows, dtype=np.float32)
    for start in range(0, rows, AT_ONCE):
        part = slice(start, start + AT_ONCE)
        planes = np.empty((size, size, len(distances[part])), dtype=np.float32)
        for row, column in np.ndindex(size, size):
            np.take(table[row], crowd.cells[column, part], out=planes[row, column], mode="clip")
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


def _table(asked: Floats, centres: Floats) -> Singles:
    """Return the difference of each yarn asked about from each centre: (n, centres)."""
    planes = np.empty((3, 2, len(asked), len(centres)), dtype=np.float32)
    planes[:, 0] = asked.T[:, :, np.newaxis]
    planes[:, 1] = centres.T[:, np.newaxis, :]
    return np.asarray(delta_e_2000_planes(planes.reshape(3, 2, -1)).reshape(planes.shape[2:]))


def _partners(asked: Floats, labs: Floats) -> tuple[int, ...]:
    # Loaded with the first question: scipy's optimisers take longer to load than most pages here.
    from scipy.optimize import linear_sum_assignment

    _, columns = linear_sum_assignment(delta_e_2000_matrix(asked, labs))
    return tuple(columns.tolist())


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
