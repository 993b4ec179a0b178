"""The colour of one yarn in a photo: its mean, how far it strays from it, and its dye style."""

from dataclasses import dataclass

import numpy as np

from palettes.colour.difference import delta_e_2000_pairs
from palettes.colour.light import Box, check_not_clipped, crop
from palettes.colour.spaces import Floats, Lab, lab_to_linear, linear_to_lab

# Our choice: a person marks about twenty stitches or strands of yarn across the short side. Cells
# of that size average away the shadow between plies, which is no part of the yarn's colour.
CELLS_ACROSS = 20

# Our choice, CIEDE2000, from the rendered yarns of tests/core/test_measure.py: under 2 a knitter
# sees one colour, over 8 no longer the same one. Speckles are rare and far from the ground colour.
SOLID_BELOW = 2.0
SEMI_SOLID_BELOW = 4.5
SPECKLE_DISTANCE = 2.5
MIN_SPECKLE_SHARE, MAX_SPECKLE_SHARE = 0.01, 0.35
VARIEGATED_CHROMATIC = 7.0


@dataclass(frozen=True, slots=True)
class Measurement:
    """A yarn as measured: colour (D65, 2 degree observer), spread and suggested dye style.

    `spread` is the mean CIEDE2000 of stitch-sized cells from the mean colour.
    """

    lab: Lab
    spread: float
    dye_style: str


def measure_yarn(photo: Floats, box: Box) -> Measurement:
    """Return the measurement of the yarn inside `box` of a linear-light sRGB photo.

    The mean is taken in linear light, as an eye far enough away would. Raises BadBox, or
    ClippedPhoto when the yarn itself is burnt out.
    """
    pixels = crop(photo, box)
    check_not_clipped(pixels, "yarn-burnt-out", number=1)
    return measure_pixels(pixels)


def measure_pixels(pixels: Floats) -> Measurement:
    """Return the measurement of linear-light sRGB pixels (rows, columns, 3), burnt out or not."""
    mean = linear_to_lab(pixels.reshape(-1, 3).mean(axis=0))
    cells = linear_to_lab(stitch_cells(pixels)).reshape(-1, 3)
    strays = delta_e_2000_pairs(cells, np.broadcast_to(mean, cells.shape))
    spread = float(strays.mean())
    return Measurement(Lab(*map(float, mean)), spread, _dye_style(cells, spread))


def relit(pixels: Floats, lab: Lab) -> Floats:
    """Return linear-light pixels scaled, each channel by itself, until their mean is `lab`.

    A colour no screen can show is taken to the nearest one in linear light.
    """
    mean = pixels.reshape(-1, 3).mean(axis=0)
    wanted = np.clip(lab_to_linear(lab), 0, 1)
    return np.asarray(pixels * (wanted / np.maximum(mean, np.finfo(float).tiny)))


def stitch_cells(pixels: Floats) -> Floats:
    """Return the linear-light means of square cells, about twenty across the short side."""
    rows, columns = pixels.shape[:2]
    side = max(1, min(rows, columns) // CELLS_ACROSS)
    trimmed = pixels[: rows // side * side, : columns // side * side]
    blocks = trimmed.reshape(rows // side, side, columns // side, side, 3)
    return np.asarray(blocks.mean(axis=(1, 3)))


def _dye_style(cells: Floats, spread: float) -> str:
    if spread < SOLID_BELOW:
        return "solid"
    if _is_speckled(cells):
        return "speckled"
    chromatic = float(np.hypot(*(cells[:, 1:] - cells[:, 1:].mean(axis=0)).T).mean())
    if chromatic > VARIEGATED_CHROMATIC:
        return "variegated"
    return "semi-solid" if spread < SEMI_SOLID_BELOW else "tonal"


def _is_speckled(cells: Floats) -> bool:
    # A speckled yarn has a calm ground, its median, and a few cells far outside the ground's own
    # variation; in a tonal or variegated yarn the variation itself is that wide.
    ground = np.median(cells, axis=0)
    distances = np.sqrt(((cells - ground) ** 2).sum(axis=1))
    calm = max(float(np.median(distances)), SOLID_BELOW)
    share = float((distances > 2 * SPECKLE_DISTANCE * calm).mean())
    return MIN_SPECKLE_SHARE <= share <= MAX_SPECKLE_SHARE
