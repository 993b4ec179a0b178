"""Pictures of two or three yarns knitted together, in hand and at a distance.

A chart says which yarn each stitch shows; `knit` makes it a picture in linear-light sRGB, tiling
without a seam; `seen_from` blurs that as the eye does. Arrays are (rows, columns, 3).
"""

from collections.abc import Mapping, Sequence
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from palettes.colour.errors import TooFewYarns
from palettes.colour.fabric import KERNELS
from palettes.colour.spaces import (
    LAB_EPSILON,
    LAB_KAPPA,
    Floats,
    Lab,
    lab_to_linear,
    linear_to_lab,
    linear_to_xyz,
)
from palettes.colour.strand import colour_stitches
from palettes.colour.swatch import Fabric, Swatch

Chart = NDArray[np.intp]


class Texture(StrEnum):
    """A way of working two or three colours together (common practice)."""

    STRIPE = "stripe"
    RIDGES = "garter-ridges"
    SLIP_STITCH = "slip-stitch"
    MOSAIC = "mosaic"
    RIB = "two-colour-rib"
    THREE_RIDGES = "three-colour-ridges"
    THREE_SLIP = "three-colour-slip-stitch"


# One repeat, the top row first, a digit for each stitch as it shows on the right side. A slipped
# stitch shows the yarn of the row it was knitted in. Mosaic rows are garter ridges, two rows each.
CHARTS: dict[Texture, tuple[str, ...]] = {
    Texture.STRIPE: ("0", "0", "0", "0", "1", "1", "1", "1"),
    Texture.RIDGES: ("0", "0", "1", "1"),
    Texture.SLIP_STITCH: ("0000", "1011", "1011", "0000", "1110", "1110"),
    Texture.MOSAIC: (
        "00000000",
        "00000000",
        "10111110",
        "10111110",
        "00100010",
        "00100010",
        "11101011",
        "11101011",
        "00001000",
        "00001000",
        "11111111",
        "11111111",
    ),
    Texture.RIB: ("0011",),
    Texture.THREE_RIDGES: ("0", "0", "1", "1", "2", "2"),
    Texture.THREE_SLIP: ("000000", "101111", "101111", "222222", "222122", "222122"),
}

# Pixels. A fingering stitch of 4.5 mm in a garter ridge is about as wide as two rows are tall.
ROW_PIXELS = 12
# Our choice: how much darker the edge of a stitch is than its middle, in linear light.
SHADE = 0.45
# Our choice: how far down, in rows, the point of a knit stitch reaches below its arms.
POINT = 0.55


class Surface(StrEnum):
    """What the right side is made of, and so how a stitch looks."""

    GARTER = "garter"
    STOCKINETTE = "stockinette"


# Slipped stitches and ribs are knit stitches on the right side (common practice); the purl columns
# of a rib lie behind the knit ones and are not seen when it is not stretched.
SURFACES: dict[Texture, Surface] = {
    Texture.STRIPE: Surface.STOCKINETTE,
    Texture.RIDGES: Surface.GARTER,
    Texture.SLIP_STITCH: Surface.STOCKINETTE,
    Texture.MOSAIC: Surface.GARTER,
    Texture.RIB: Surface.STOCKINETTE,
    Texture.THREE_RIDGES: Surface.GARTER,
    Texture.THREE_SLIP: Surface.STOCKINETTE,
}


def yarns_needed(texture: Texture) -> int:
    """Return how many yarns the texture is worked with: 2 or 3."""
    return 1 + max(int(digit) for row in CHARTS[texture] for digit in row)


def chart_of(texture: Texture, *, rows: int, stitches: int) -> Chart:
    """Return the texture's chart repeated to at least `rows` and `stitches`, whole repeats only."""
    repeat = np.array([[int(digit) for digit in row] for row in CHARTS[texture]])
    down, across = -(-rows // repeat.shape[0]), -(-stitches // repeat.shape[1])
    return np.tile(repeat, (down, across))


def knit(
    chart: Chart,
    swatches: Sequence[Swatch],
    fabric: Fabric,
    *,
    surface: Surface = Surface.GARTER,
    real: Mapping[int, Floats] | None = None,
    seed: int = 0,
) -> Floats:
    """Return the chart knitted up, in linear-light sRGB within 0..1.

    Each yarn's spread is drawn along the yarn, as `strand.py` has it; `real` holds the photo's
    own texture of yarns, by position, a pixel a stitch. The same seed gives the same stitches.
    Raises TooFewYarns.
    """
    if len(swatches) <= chart.max():
        raise TooFewYarns(f"This texture takes {chart.max() + 1} yarns; there are {len(swatches)}.")
    stitches = np.zeros((*chart.shape, 3))
    for position, swatch in enumerate(swatches):
        places = _as_worked(chart == position)
        stitches[places] = colour_stitches(
            swatch, len(places[0]), seed=seed + position, real=(real or {}).get(position)
        )
    rows, columns, shade = _stitch_shape(chart.shape, fabric, surface)
    return np.clip(lab_to_linear(stitches)[rows, columns] * shade[..., np.newaxis], 0, 1)


def _as_worked(where: NDArray[np.bool_]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the rows and columns of the marked stitches in the order they are worked.

    From the foot upwards, to and fro, so that runs of colour lie as they do in flat knitting.
    """
    rows, columns = np.nonzero(where)
    along = np.where(rows % 2, columns, -columns)
    order = np.lexsort((along, -rows))
    return rows[order], columns[order]


def _stitch_shape(
    shape: tuple[int, ...], fabric: Fabric, surface: Surface
) -> tuple[NDArray[np.intp], NDArray[np.intp], Floats]:
    """Return for each pixel the stitch it belongs to, row and column, and how light it lies."""
    height, width = ROW_PIXELS, stitch_pixels(fabric)
    down = (np.arange(shape[0] * height) + 0.5)[:, np.newaxis] / height
    across = (np.arange(shape[1] * width) + 0.5)[np.newaxis, :] / width
    columns = np.broadcast_to(across.astype(np.intp), (down.size, across.size))
    if surface is Surface.STOCKINETTE:
        # The arms of a knit stitch rise to both sides of its point.
        down = down + POINT * np.abs(2 * (across % 1) - 1)
        bump = _round(down % 1) * _round(2 * across % 1)
    else:
        # The loops of the row between two ridges lie half a stitch further and deeper.
        between = np.broadcast_to(down.astype(np.intp) % 2 == 0, columns.shape)
        bump = _round(down % 1) * _round(np.where(between, across + 0.5, across) % 1)
    rows = np.broadcast_to(down.astype(np.intp) % shape[0], columns.shape)
    # The mean is 1, so a yarn keeps its mean colour.
    return rows, columns, np.asarray(1 + SHADE * (bump / bump.mean() - 1))


def _round(place: Floats) -> Floats:
    """Return 0..1 for the height of a round strand at 0..1 across it."""
    return np.asarray(np.sqrt(np.sin(np.pi * place)))


def stitch_pixels(fabric: Fabric) -> int:
    """Return the width of a stitch in pixels when a row is `ROW_PIXELS` tall."""
    return max(2, round(ROW_PIXELS * fabric.stitch_width_mm / fabric.row_height_mm))


def seen_from(picture: Floats, fabric: Fabric, distance_m: float) -> Floats:
    """Return the picture as the eye blurs it from `distance_m` metres, in linear light.

    The kernels of S-CIELAB (Zhang & Wandell 1997) in their exact periodic form, luminance in
    linear light, as light itself mixes, and red-green and blue-yellow on a* and b*. Our choice
    for showing: blurred as linear signals, a dark blue beside a cream turns a purple nobody sees.
    """
    return seen_from_each(picture, fabric, (distance_m,))[0]


def seen_from_each(picture: Floats, fabric: Fabric, distances_m: Sequence[float]) -> list[Floats]:
    """Return the picture as `seen_from` has it from each distance, for little more work."""
    rows, columns = picture.shape[:2]
    lab = linear_to_lab(picture)
    signals = (linear_to_xyz(picture)[..., 1], lab[..., 1], lab[..., 2])
    waves = [np.fft.rfft2(signal) for signal in signals]
    # In cycles a pixel; a distance says how many pixels are a degree.
    squared = np.fft.fftfreq(rows)[:, np.newaxis] ** 2 + np.fft.rfftfreq(columns) ** 2
    return [
        _blurred(waves, squared, fabric, distance, (rows, columns)) if distance > 0 else picture
        for distance in distances_m
    ]


def _blurred(
    waves: Sequence[NDArray[np.complex128]],
    squared: Floats,
    fabric: Fabric,
    distance_m: float,
    shape: tuple[int, int],
) -> Floats:
    degrees_per_pixel = np.degrees(fabric.row_height_mm / ROW_PIXELS / (1000 * distance_m))
    light, a, b = (
        np.fft.irfft2(wave * _transfer(kernel, squared / degrees_per_pixel**2), s=shape)
        for wave, kernel in zip(waves, KERNELS, strict=True)
    )
    light = np.clip(light, 0, 1)
    grey = np.where(light > LAB_EPSILON, 116 * np.cbrt(light) - 16, LAB_KAPPA * light)
    return np.clip(lab_to_linear(np.stack([grey, a, b], axis=-1)), 0, 1)


def _transfer(kernel: tuple[tuple[float, float], ...], squared_frequency: Floats) -> Floats:
    total = sum(weight for weight, _ in kernel)
    gain = np.zeros_like(squared_frequency)
    for weight, fwhm in kernel:
        sigma = fwhm / (2 * np.sqrt(2 * np.log(2)))
        gain += weight / total * np.exp(-2 * (np.pi * sigma) ** 2 * squared_frequency)
    # As in fabric.py, no distance shows more than there is.
    return np.minimum(gain, 1.0)


def mean_colour(picture: Floats) -> Lab:
    """Return the colour the picture blends to, far away: its mean in linear light."""
    return Lab(*map(float, linear_to_lab(picture.reshape(-1, 3).mean(axis=0))))
