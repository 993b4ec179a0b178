"""Where the yarns are in a photo: k-means in CIELAB on a reduced copy, then a box in each."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from palettes.colour.areas import MIN_BOX_SHARE, even_areas, yarn_areas
from palettes.colour.difference import delta_e_2000
from palettes.colour.grounds import Ground, find_ground
from palettes.colour.light import Box
from palettes.colour.rectangles import Mask, Rectangle, largest_rectangle
from palettes.colour.spaces import Floats, Lab, linear_to_lab

# Our choices here and below, set by benchmarks/photo_regions.py. The copy is small enough to be
# quick and fine enough for a card of ten wraps; a median over so many of its pixels takes out
# speckles and strands.
LONG_SIDE = 160
CALM = 5
CLUSTERS, SPARE_CLUSTERS = 24, 8
WHITE_CLUSTERS = 8
# A box smaller than this share of the largest is a scrap.
LEAST_OF_LARGEST = 1 / 8
# Stay this far inside the found area, away from edges and their shadows.
INSET = 0.08
# Most yarn is rough, by its strands and the furrows between them; card, paper and labels are not.
# An area is smooth below this share of the usual roughness. So is, below the second share, what has
# a smooth area's colour: card between two wraps, beside which lie their edges.
SMOOTH, SMOOTH_IN_COLOUR = 1 / 3, 0.75
SAME_CARD_DELTA_E = 8.0
# A shadow is smaller than a yarn, and as rough as the table in it.
SHADOW_OF_LARGEST = 1 / 3
SHADOW_ROUGHNESS = 1.5
DARKEST = 1e-3
MIDDLE = Box(0.4, 0.4, 0.6, 0.6)


@dataclass(frozen=True, slots=True)
class Copy:
    """A photo made small: linear light, its L*a*b* without speckles, and how rough it was."""

    linear: Floats
    lab: Floats
    roughness: Floats
    """The deviation of the light within each pixel of the copy, as a share of the light there."""

    def roughness_in(self, area: Mask) -> float:
        """Return the median within `area`, away from its edges if it has a middle."""
        from scipy import ndimage

        core = ndimage.binary_erosion(area)
        return float(np.median(self.roughness[core if core.any() else area]))

    def colour_in(self, area: Mask) -> Lab:
        return Lab(*self.lab[area].mean(axis=0).tolist())


@dataclass(frozen=True, slots=True)
class Candidate:
    """An area that may be a yarn."""

    area: Mask
    rectangle: Rectangle
    roughness: float
    lab: Lab


def propose_boxes(photo: Floats, *, count: int = 5, avoid: Sequence[Box] = ()) -> list[Box]:
    """Return up to `count` boxes that each lie inside one yarn of the photo.

    `photo` is linear-light sRGB (rows, columns, 3); `avoid` marks what is not yarn, such as the
    white paper. Boxes come in reading order. The same photo always gives the same boxes.
    """
    copy = make_copy(photo)
    allowed = np.ones(copy.lab.shape[:2], dtype=bool)
    for marked in avoid:
        allowed[_slices(marked, allowed.shape)] = False
    if not allowed.any():
        return []
    ground = find_ground(copy.lab, allowed)
    areas = yarn_areas(copy.lab, _things(allowed, ground), max(CLUSTERS, count + SPARE_CLUSTERS))
    found = _yarns(copy, _candidates(copy, areas), ground)
    boxes = [_box(yarn.rectangle, allowed.shape) for yarn in found[:count]]
    return sorted(boxes, key=lambda box: (round(box.top * 4), box.left))


def propose_white(photo: Floats) -> Box:
    """Return a box where white paper may lie: the lightest evenly coloured area, or the middle."""
    copy = make_copy(photo)
    everything = np.ones(copy.lab.shape[:2], dtype=bool)
    found = _candidates(copy, even_areas(copy.lab, everything, WHITE_CLUSTERS))
    if not found:
        return MIDDLE
    return _box(max(found, key=lambda area: area.lab.l).rectangle, everything.shape)


def make_copy(photo: Floats) -> Copy:
    """Return the photo as the yarns are looked for in it."""
    from scipy import ndimage

    linear, roughness = reduce_photo(photo)
    lab = ndimage.median_filter(linear_to_lab(linear), size=(CALM, CALM, 1), mode="nearest")
    return Copy(linear, lab, roughness)


def reduce_photo(photo: Floats) -> tuple[Floats, Floats]:
    """Return a copy whose long side is at most 160 pixels, averaged in linear light.

    With it comes how rough each of its pixels is: the deviation of the green light in it, as a
    share of that light. Green is most of what lightness is made of.
    """
    rows, columns = photo.shape[:2]
    step = max(1, -(-max(rows, columns) // LONG_SIDE))
    step_down, step_across = min(step, rows), min(step, columns)
    linear = _block_means(photo, step_down, step_across)
    green = _block_means(photo[..., 1:2] ** 2, step_down, step_across)[..., 0]
    deviation = np.sqrt(np.maximum(green - linear[..., 1] ** 2, 0))
    return linear, np.asarray(deviation / np.maximum(linear[..., 1], DARKEST))


def _block_means(photo: Floats, down: int, across: int) -> Floats:
    # One axis after the other: a mean over both at once takes several times as long.
    height, width, planes = photo.shape[0] // down, photo.shape[1] // across, photo.shape[2]
    trimmed = photo[: height * down, : width * across]
    rows = trimmed.reshape(height, down, width * across * planes).sum(axis=1)
    blocks = rows.reshape(height, width, across, planes).sum(axis=2)
    return np.asarray(blocks / (down * across))


def _things(allowed: Mask, ground: Ground | None) -> Mask:
    """Return what lies on the ground, or everything where there is no ground or nothing on it."""
    from scipy import ndimage

    if ground is None:
        return allowed
    things = np.asarray(ndimage.binary_opening(allowed & ~ground.own, np.ones((3, 3))))
    return things if things.any() else allowed


def _candidates(copy: Copy, areas: list[Mask]) -> list[Candidate]:
    """Return the areas that a box fits into, that with the largest box first."""
    candidates = []
    for area in areas:
        rectangle = largest_rectangle(area)
        if rectangle.size >= MIN_BOX_SHARE * area.size:
            rough, lab = copy.roughness_in(area), copy.colour_in(area)
            candidates.append(Candidate(area, rectangle, rough, lab))
    return sorted(candidates, key=lambda candidate: -candidate.rectangle.size)


def _yarns(copy: Copy, found: list[Candidate], ground: Ground | None) -> list[Candidate]:
    """Return the candidates but for scraps and shadows; what may be card or paper comes last."""
    if not found:
        return []
    largest = found[0].rectangle.size
    large = [each for each in found if each.rectangle.size >= LEAST_OF_LARGEST * largest]
    usual = float(np.median([each.roughness for each in large]))
    smooth = [each.lab for each in found if each.roughness < SMOOTH * usual]
    shadows = SHADOW_OF_LARGEST * largest
    lit = [
        each
        for each in large
        if not (ground and each.rectangle.size < shadows and _is_shadow(copy, each, ground))
    ]
    # Not left out: a pale or brushed yarn may be as smooth as paper, and nobody misses a box more.
    return sorted(lit, key=lambda each: _is_card(each, smooth, usual))


def _is_card(candidate: Candidate, smooth: list[Lab], usual: float) -> bool:
    limit = SMOOTH_IN_COLOUR * usual
    return candidate.roughness < limit and any(
        delta_e_2000(candidate.lab, lab) < SAME_CARD_DELTA_E for lab in smooth
    )


def _is_shadow(copy: Copy, candidate: Candidate, ground: Ground) -> bool:
    limit = SHADOW_ROUGHNESS * copy.roughness_in(ground.own)
    return candidate.roughness < limit and ground.is_shaded_as(copy.linear, candidate.area)


def _box(rectangle: Rectangle, shape: tuple[int, ...]) -> Box:
    rows, columns = shape
    _, left, top, right, bottom = rectangle
    inset_x, inset_y = INSET * (right - left), INSET * (bottom - top)
    return Box(
        (left + inset_x) / columns,
        (top + inset_y) / rows,
        (right - inset_x) / columns,
        (bottom - inset_y) / rows,
    )


def _slices(box: Box, shape: tuple[int, ...]) -> tuple[slice, slice]:
    rows, columns = shape
    return (
        slice(int(box.top * rows), -int(-box.bottom * rows // 1)),
        slice(int(box.left * columns), -int(-box.right * columns // 1)),
    )
