"""A whole cohort's palettes in one picture: a thin column for each, ordered by hue.

The wheel is CIELAB's, from red at 0 degrees through yellow, green and blue. Within a column the
yarns stand in the same order, greys below, from light to dark.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from palettes.colour.schemes import NEUTRAL_CHROMA
from palettes.colour.spaces import Floats, lab_to_srgb

type Levels = NDArray[np.uint8]

# Pixels. Our choices: the width of the page, a column that can still be told apart, a yarn high
# enough to be seen, and some paper between two rows of columns.
WIDTH: Final = 1056
COLUMN: Final = (2, 24)
YARN: Final = 16
GAP: Final = 8
# Our choice: about four screens of columns; of more palettes every so many-th is drawn.
MOST: Final = 12 * WIDTH // COLUMN[0]


def order_cohort(labs: Floats) -> Floats:
    """Return the palettes by hue, the yarns of each by hue: (palettes, n, 3), of the same shape.

    A palette's hue is that of the sum of its yarns' (a*, b*); all but grey ones come last.
    """
    sums = labs[..., 1:].sum(axis=1)
    inner = np.argsort(_places(labs[..., 0], labs[..., 1], labs[..., 2]), axis=1, kind="stable")
    means = sums / labs.shape[1]
    outer = np.argsort(_places(labs[..., 0].mean(axis=1), *means.T), kind="stable")
    return np.asarray(np.take_along_axis(labs, inner[..., np.newaxis], axis=1)[outer])


def draw_cohort(ordered: Floats, paper: tuple[int, int, int]) -> Levels:
    """Return a picture of ordered palettes, (palettes, n, 3), as sRGB levels: (rows, `WIDTH`, 3).

    Of more than `MOST` palettes it draws as many, evenly taken.
    """
    if len(ordered) > MOST:
        ordered = ordered[np.linspace(0, len(ordered) - 1, MOST).round().astype(int)]
    count, size = ordered.shape[:2]
    wide = max(COLUMN[0], min(COLUMN[1], WIDTH // count))
    in_row = WIDTH // wide
    rows = -(-count // in_row)
    high = size * YARN
    picture = np.empty((rows * (high + GAP) - GAP, WIDTH, 3), dtype=np.uint8)
    picture[:] = paper
    levels = np.rint(np.clip(lab_to_srgb(ordered), 0, 1) * 255).astype(np.uint8)
    for row in range(rows):
        part = levels[row * in_row : (row + 1) * in_row].transpose(1, 0, 2)
        drawn = part.repeat(YARN, axis=0).repeat(wide, axis=1)
        top = row * (high + GAP)
        picture[top : top + high, : drawn.shape[1]] = drawn
    return picture


def _places(light: Floats, a: Floats, b: Floats) -> Floats:
    """Return what to sort by: hue in 0..360 degrees, then greys from light to dark above it."""
    hues = np.degrees(np.arctan2(b, a)) % 360
    return np.asarray(np.where(np.hypot(a, b) >= NEUTRAL_CHROMA, hues, 460 - light))
