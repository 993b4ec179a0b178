"""How a yarn's colour strays along its length, stitch after stitch as it is knitted."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from palettes.colour.difference import delta_e_2000_pairs
from palettes.colour.spaces import Floats, linear_to_lab
from palettes.colour.swatch import Swatch

# CIEDE2000: under this nothing would be seen.
LEAST_SPREAD: Final = 0.5
# Two steps bring the mean stray within a few per cent of the spread (tests/core/test_strand.py).
_STEPS: Final = 2
# Standard deviations. Our choice: past it a fleck is no colour of the yarn any more.
_FARTHEST: Final = 1.2


@dataclass(frozen=True, slots=True)
class Manner:
    """How a dye style strays: in runs of how many stitches, how many of them, and which way.

    `light`, `chroma` and `hue` weigh the three directions; `share` of the runs stray at all.
    """

    shortest: int
    longest: int
    share: float
    light: float
    chroma: float
    hue: float


# Our choice, from how such yarns look knitted (common practice): tonal yarn drifts lighter and
# darker over an inch or two, speckles are a stitch long, variegated yarn changes hue in lengths.
_TONAL: Final = Manner(3, 9, 1.0, 1.0, 0.3, 0.15)
MANNERS: Final = {
    "solid": Manner(1, 3, 1.0, 1.0, 0.2, 0.1),
    "semi-solid": Manner(2, 6, 1.0, 1.0, 0.3, 0.1),
    "tonal": _TONAL,
    "speckled": Manner(1, 2, 0.3, 1.0, 0.7, 0.7),
    "variegated": Manner(3, 12, 1.0, 0.6, 0.5, 1.0),
}


def colour_stitches(swatch: Swatch, count: int, *, seed: int, real: Floats | None = None) -> Floats:
    """Return L*a*b* of `count` stitches in the order they are worked, shape (count, 3).

    Their mean CIEDE2000 from the yarn's colour is its spread. `real` is linear-light sRGB
    (rows, columns, 3) of the yarn's own photo, a pixel a stitch, which is followed where given.
    """
    flat = np.tile(np.array(swatch.lab, dtype=np.float64), (count, 1))
    if count == 0 or swatch.texture < LEAST_SPREAD:
        return flat
    strays = _invented(swatch, count, seed) if real is None else _followed(real, count)
    return _scaled(flat, strays, swatch.texture)


def _invented(swatch: Swatch, count: int, seed: int) -> Floats:
    dice = np.random.default_rng(seed)
    manner = MANNERS.get(swatch.dye_style or "", _TONAL)
    lengths = dice.integers(manner.shortest, manner.longest, size=count, endpoint=True)
    weights = (manner.light, manner.chroma, manner.hue)
    runs = np.clip(dice.standard_normal((count, 3)), -_FARTHEST, _FARTHEST) * weights
    runs[dice.random(count) >= manner.share] = 0
    run_of = np.repeat(np.arange(count), lengths)[:count]
    light, chroma, hue = runs[run_of].T
    # Along the yarn's own hue and across it, so that a tonal blue stays blue.
    angle = np.arctan2(swatch.lab.b, swatch.lab.a)
    along, across = np.cos(angle), np.sin(angle)
    return np.stack([light, chroma * along - hue * across, chroma * across + hue * along], axis=-1)


def _followed(real: Floats, count: int) -> Floats:
    """Return the photo's strays in the order a knitter works: to and fro, row by row."""
    rows = linear_to_lab(real)
    rows[1::2] = rows[1::2, ::-1]
    worked = rows.reshape(-1, 3)
    return np.resize(worked - worked.mean(axis=0), (count, 3))


def _scaled(flat: Floats, strays: Floats, spread: float) -> Floats:
    """Return the colours that stray that way and, in the mean, as far as the spread."""
    strays = strays - strays.mean(axis=0)
    for _ in range(_STEPS):
        reached = delta_e_2000_pairs(_bounded(flat + strays), flat).mean()
        if reached > 0:
            strays = strays * (spread / reached)
    return _bounded(flat + strays)


def _bounded(labs: Floats) -> Floats:
    light = np.clip(labs[..., :1], 0, 100)
    return np.concatenate([light, np.clip(labs[..., 1:], -110, 110)], axis=-1)
