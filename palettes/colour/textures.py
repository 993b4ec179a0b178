"""Pictures of two or three yarns knitted together, in hand and at a distance.

A chart says which yarn each stitch shows; `knit` makes it a picture in linear-light sRGB, tiling
without a seam; `seen_from` blurs that as the eye does. Arrays are (rows, columns, 3).
"""

from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from palettes.colour.errors import TooFewYarns
from palettes.colour.fabric import KERNELS
from palettes.colour.spaces import (
    Floats,
    Lab,
    lab_to_linear,
    linear_to_lab,
    linear_to_xyz,
)
from palettes.colour.swatch import Fabric

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
ROW_PIXELS = 6
# Our choice: how much darker the edge of a stitch is than its middle, in linear light.
SHADE = 0.3


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
    labs: ArrayLike,
    spreads: ArrayLike,
    fabric: Fabric,
    *,
    seed: int = 0,
) -> Floats:
    """Return the chart knitted up, in linear-light sRGB within 0..1.

    `labs` is (yarns, 3) L*a*b*, `spreads` their mean CIEDE2000, drawn as a colour of its own for
    every stitch. The same seed gives the same stitches. Raises TooFewYarns.
    """
    colours = np.asarray(labs, dtype=np.float64)
    if len(colours) <= chart.max():
        raise TooFewYarns(f"This texture takes {chart.max() + 1} yarns; there are {len(colours)}.")
    stitches = colours[chart] + _stitch_noise(chart, np.asarray(spreads, float), seed)
    stitches[..., 0] = np.clip(stitches[..., 0], 0, 100)
    height, width = ROW_PIXELS, stitch_pixels(fabric)
    flat = np.repeat(np.repeat(lab_to_linear(stitches), height, axis=0), width, axis=1)
    shade = np.tile(_one_stitch(height, width), chart.shape)
    return np.clip(flat * shade[..., np.newaxis], 0, 1)


def stitch_pixels(fabric: Fabric) -> int:
    """Return the width of a stitch in pixels when a row is `ROW_PIXELS` tall."""
    return max(2, round(ROW_PIXELS * fabric.stitch_width_mm / fabric.row_height_mm))


def _stitch_noise(chart: Chart, spreads: Floats, seed: int) -> Floats:
    # For three equal independent normal errors the mean distance is sqrt(8 / pi) deviations.
    rng = np.random.default_rng(seed)
    deviation = spreads[chart] / np.sqrt(8 / np.pi)
    return np.asarray(rng.standard_normal((*chart.shape, 3)) * deviation[..., np.newaxis])


def _one_stitch(height: int, width: int) -> Floats:
    # Lightest in the middle of the bump; the mean is 1, so a yarn keeps its mean colour.
    down = np.sin(np.pi * (np.arange(height) + 0.5) / height)
    across = np.sin(np.pi * (np.arange(width) + 0.5) / width)
    bump = np.sqrt(np.outer(down, across))
    return np.asarray(1 + SHADE * (bump / bump.mean() - 1))


def seen_from(picture: Floats, fabric: Fabric, distance_m: float) -> Floats:
    """Return the picture as the eye blurs it from `distance_m` metres, in linear light.

    The kernels of S-CIELAB (Zhang & Wandell 1997) in their exact periodic form, luminance in
    linear light, as light itself mixes, and red-green and blue-yellow on a* and b*. Our choice
    for showing: blurred as linear signals, a dark blue beside a cream turns a purple nobody sees.
    """
    if distance_m <= 0:
        return picture
    degrees_per_pixel = np.degrees(fabric.row_height_mm / ROW_PIXELS / (1000 * distance_m))
    rows, columns = picture.shape[:2]
    down = np.fft.fftfreq(rows, degrees_per_pixel)
    across = np.fft.rfftfreq(columns, degrees_per_pixel)
    squared = down[:, np.newaxis] ** 2 + across**2
    lab = linear_to_lab(picture)
    signals = linear_to_xyz(picture)[..., 1], lab[..., 1], lab[..., 2]
    light, *chromatic = (
        np.fft.irfft2(np.fft.rfft2(signal) * _transfer(kernel, squared), s=(rows, columns))
        for signal, kernel in zip(signals, KERNELS, strict=True)
    )
    grey = np.repeat(np.clip(light, 0, 1)[..., np.newaxis], 3, axis=-1)
    seen = np.stack([linear_to_lab(grey)[..., 0], *chromatic], axis=-1)
    return np.clip(lab_to_linear(seen), 0, 1)


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
