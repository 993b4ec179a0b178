"""What the yarns of a photo lie on: the table, however unevenly lit, and its shadows."""

from dataclasses import dataclass

import numpy as np

from palettes.colour.difference import delta_e_2000_matrix, delta_e_2000_pairs
from palettes.colour.kmeans import group_points
from palettes.colour.rectangles import Mask
from palettes.colour.spaces import Floats, lab_to_linear

# Our choices. The edge is a strip this share of the short side wide, and few colours are there.
EDGE_SHARE = 1 / 24
EDGE_CLUSTERS = 8
# CIEDE2000: what differs less along the edge is one table, before its light is known.
SAME_TABLE_DELTA_E = 7.0
# A table runs along more of the photo's edge than any skein does, and reaches every side of it; of
# two wraps that fill a photo neither does.
LEAST_OF_EDGE = 0.4
LEAST_OF_SIDE = 0.05
# CIEDE2000, and times the table's own median stray: a plain table strays by less than 1 once its
# light is known, so a pale yarn stands out from it; a wooden one strays more.
LEAST_STRAY = 2.5
STRAYS = 4.0
ROUNDS, ROUNDS_AT_EDGE = 6, 2
MIN_EDGE_PIXELS = 12
# The light left in a shadow, and how far its three channels may lie apart.
SHADOW_LIGHT = (0.4, 1.0)
SHADOW_TINT = 0.12


@dataclass(frozen=True, slots=True)
class Ground:
    """Which pixels are the table, and the colour (L*a*b*) it has or would have at each pixel."""

    own: Mask
    lab: Floats

    def is_shaded_as(self, linear: Floats, area: Mask) -> bool:
        """Return whether `area` has the table's colour with the same share of each channel gone."""
        ratio = linear[area].mean(axis=0) / lab_to_linear(self.lab[area]).mean(axis=0)
        low, high = SHADOW_LIGHT
        level = float(ratio.mean())
        return bool(low < level < high and np.ptp(ratio) < SHADOW_TINT * level)


def find_ground(lab: Floats, allowed: Mask) -> Ground | None:
    """Return what runs along the edge of an L*a*b* picture, or None where nothing does.

    Its most frequent colour at the edge is fitted by a quadratic surface, which takes up slanting
    light and vignetting, and every pixel near the surface is the ground: first at the edge, then
    everywhere, each time anew from the pixels found.
    """
    edge = allowed & _edge(allowed.shape)
    if edge.sum() < MIN_EDGE_PIXELS:
        return None
    terms = _quadratic_terms(allowed.shape)
    own = _commonest(lab, edge)
    for done in range(ROUNDS):
        weights = np.linalg.lstsq(terms[own], lab[own], rcond=None)[0]
        surface = np.asarray(terms @ weights)
        strays = delta_e_2000_pairs(lab, surface)
        limit = max(LEAST_STRAY, STRAYS * float(np.median(strays[own])))
        own = (strays < limit) & (edge if done < ROUNDS_AT_EDGE else allowed)
    return Ground(own, surface) if _runs_round(own, edge) else None


def _edge(shape: tuple[int, ...]) -> Mask:
    width = max(1, int(min(shape) * EDGE_SHARE))
    edge = np.ones(shape, dtype=bool)
    edge[width:-width, width:-width] = False
    return edge


def _quadratic_terms(shape: tuple[int, ...]) -> Floats:
    y, x = np.meshgrid(*(np.linspace(-1, 1, side) for side in shape), indexing="ij")
    return np.stack([np.ones(shape), x, y, x * y, x * x, y * y], axis=-1)


def _commonest(lab: Floats, edge: Mask) -> Mask:
    """Return the pixels of the edge that have its most frequent colour."""
    nearest, centres = group_points(lab[edge], EDGE_CLUSTERS)
    close = delta_e_2000_matrix(centres, centres) < SAME_TABLE_DELTA_E
    sizes = np.bincount(nearest, minlength=len(centres))
    commonest = np.zeros(edge.shape, dtype=bool)
    commonest[edge] = close[(close @ sizes).argmax()][nearest]
    return commonest


def _runs_round(own: Mask, edge: Mask) -> bool:
    if own[edge].mean() < LEAST_OF_EDGE:
        return False
    sides = (np.s_[0], np.s_[-1], np.s_[:, 0], np.s_[:, -1])
    seen = [own[side][edge[side]] for side in sides if edge[side].any()]
    return all(pixels.mean() > LEAST_OF_SIDE for pixels in seen)
