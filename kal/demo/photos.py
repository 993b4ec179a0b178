"""A photo for the demo: swatches of some yarns side by side, knitted up by drawing them."""

from collections.abc import Sequence
from datetime import datetime

import numpy as np

from kal.models import Participant
from palettes.actions import add_photo, change_yarn
from palettes.colour.light import Box
from palettes.colour.spaces import Floats, linear_to_srgb
from palettes.colour.swatch import Fabric, Swatch
from palettes.colour.textures import Surface, knit
from palettes.models import Yarn
from palettes.models.yarn_facts import MeasuredBy
from palettes.photos import encode_png, read_photo, to_levels

ROWS, STITCHES = 32, 16
# Pixels of table around each swatch, and how light the table is.
TABLE, TABLE_LIGHT = 30, 0.62


def photograph(
    participant: Participant, yarns: Sequence[Yarn], *, at: datetime, seed: int = 1
) -> None:
    """Store one photo that shows all these yarns, and mark on each yarn where it is in it."""
    swatches = [_knitted(yarn.swatch(), seed + n) for n, yarn in enumerate(yarns)]
    height, width = swatches[0].shape[:2]
    step = width + TABLE
    scene = np.full((height + 2 * TABLE, len(yarns) * step + TABLE, 3), TABLE_LIGHT)
    for n, swatch in enumerate(swatches):
        left = TABLE + n * step
        scene[TABLE:-TABLE, left : left + width] = swatch
    photo = add_photo(participant, read_photo(_file(scene)), now=at)
    for n, yarn in enumerate(yarns):
        left = TABLE + n * step
        yarn.photo, yarn.measured_by = photo, MeasuredBy.PHOTO
        yarn.region = Box(
            left=left / scene.shape[1],
            top=TABLE / scene.shape[0],
            right=(left + width) / scene.shape[1],
            bottom=1 - TABLE / scene.shape[0],
        )
        change_yarn(yarn, ("photo", "region", "measured_by"), now=at)


def _knitted(swatch: Swatch, seed: int) -> Floats:
    chart = np.zeros((ROWS, STITCHES), dtype=np.intp)
    return knit(chart, [swatch], Fabric(), surface=Surface.STOCKINETTE, seed=seed)


def _file(scene: Floats) -> bytes:
    return encode_png(to_levels(linear_to_srgb(scene)))
