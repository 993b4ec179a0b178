"""Pictures of a participant's own yarns knitted together, as files for their page alone.

A picture is three panels side by side: in hand, at arm's length, and across a room.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from django.core.files.storage import default_storage

from palettes.colour.contrast import ACROSS_ROOM_M, ARMS_LENGTH_M, IN_HAND_M
from palettes.colour.light import Box
from palettes.colour.sight import Sight, picture_as_seen
from palettes.colour.spaces import Floats, Lab, hex_to_srgb, linear_to_srgb, srgb_to_linear
from palettes.colour.swatch import Fabric, Swatch
from palettes.colour.textures import (
    ROW_PIXELS,
    SURFACES,
    Texture,
    chart_of,
    knit,
    seen_from_each,
    stitch_pixels,
)
from palettes.models import Yarn
from palettes.photos import encode_webp, read_texture, to_levels

DISTANCES_M: Final = (IN_HAND_M, ARMS_LENGTH_M, ACROSS_ROOM_M)
# Pixels. Our choice: twelve garter ridges, sharp on a phone where a panel is a third as wide.
PANEL: Final = 24 * ROW_PIXELS
GAP: Final = 12
WIDTH, HEIGHT = len(DISTANCES_M) * (PANEL + GAP) - GAP, PANEL
PAPER: Final = "#fbfaf7"  # static/css/site.css, so that the gaps are part of the page
# Cells a side of a yarn's own photo, a stitch each: measure.py takes its spread at this scale.
CELLS: Final = 20
# Raised whenever pictures are drawn differently, so that no browser keeps an old one.
DRAWING: Final = 1
# Our choice: two pages' worth, some 30 kB each, in every web process.
KEPT: Final = 64


@dataclass(frozen=True, slots=True)
class Strand:
    """A yarn with the place of its own texture in a photo, where there is one."""

    swatch: Swatch
    photo_name: str = ""
    region: Box | None = None


@dataclass(frozen=True, slots=True)
class Shown:
    """Everything that a picture shows: equal ones are the same picture."""

    texture: Texture
    strands: tuple[Strand, ...]
    fabric: Fabric
    sight: Sight

    @property
    def version(self) -> str:
        """A short name for exactly this picture, to be kept by a browser under."""
        return hashlib.sha256(f"{DRAWING} {self!r}".encode()).hexdigest()[:16]


def strand_of(yarn: Yarn) -> Strand:
    if yarn.photo is None or yarn.region is None:
        return Strand(yarn.swatch())
    return Strand(yarn.swatch(), str(yarn.photo.image.name), yarn.region)


@lru_cache(maxsize=KEPT)
def picture_file(shown: Shown) -> bytes:
    """Return the picture as a WebP file, `WIDTH` by `HEIGHT` pixels."""
    return encode_webp(to_levels(linear_to_srgb(draw(shown))))


def draw(shown: Shown) -> Floats:
    """Return the picture in linear-light sRGB, (HEIGHT, WIDTH, 3)."""
    across = -(-PANEL // stitch_pixels(shown.fabric))
    picture = knit(
        chart_of(shown.texture, rows=PANEL // ROW_PIXELS, stitches=across),
        [strand.swatch for strand in shown.strands],
        shown.fabric,
        surface=SURFACES[shown.texture],
        real=_real_textures(shown.strands),
    )
    panels = seen_from_each(picture, shown.fabric, DISTANCES_M)
    sheet = np.tile(srgb_to_linear(hex_to_srgb(PAPER)), (HEIGHT, WIDTH, 1))
    for place, panel in enumerate(panels):
        left = place * (PANEL + GAP)
        sheet[:, left : left + PANEL] = picture_as_seen(panel[:PANEL, :PANEL], shown.sight)
    return sheet


def _real_textures(strands: Sequence[Strand]) -> dict[int, Floats]:
    return {
        position: _real_texture(strand.photo_name, strand.region, strand.swatch.lab)
        for position, strand in enumerate(strands)
        if strand.region is not None
    }


@lru_cache(maxsize=KEPT)
def _real_texture(photo_name: str, region: Box, lab: Lab) -> Floats:
    """Return `CELLS` by `CELLS` linear-light pixels of a stored photo, which never changes."""
    with default_storage.open(photo_name) as file:
        levels = read_texture(file, region, CELLS, lab=lab)
    return srgb_to_linear(levels / 255)
