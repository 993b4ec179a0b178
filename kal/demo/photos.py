"""A photo for the demo: swatches of some yarns in evening light, white paper beside them."""

from collections.abc import Sequence
from datetime import datetime

import numpy as np

from kal.models import Participant
from palettes import marking
from palettes.colour.light import Box
from palettes.colour.spaces import Floats, linear_to_srgb
from palettes.colour.swatch import Fabric, Swatch
from palettes.colour.textures import Surface, knit
from palettes.measuring import read_marks
from palettes.models import Mark, Yarn
from palettes.photos import encode_png, read_photo, to_levels

ROWS, STITCHES = 32, 16
# Pixels of table around each swatch, and the light of table and white paper (as in light.py).
MARGIN, TABLE, PAPER = 30, 0.3, 0.876
# A warm evening, as a camera set to daylight sees it, exposed so that nothing burns out.
EVENING = 0.7 * np.array((0.95, 0.87, 0.74))


def photograph(
    participant: Participant, yarns: Sequence[Yarn], *, at: datetime, seed: int = 1
) -> None:
    """Store one photo that shows all these yarns, measured onto them with its light put right."""
    swatches = [_knitted(yarn.swatch(), seed + n) for n, yarn in enumerate(yarns)]
    height, width = swatches[0].shape[:2]
    paper = np.full((height, width, 3), PAPER)
    step = width + MARGIN
    scene = np.full((height + 2 * MARGIN, (len(yarns) + 1) * step + MARGIN, 3), TABLE)
    boxes = []
    for n, shown in enumerate([*swatches, paper]):
        left = MARGIN + n * step
        scene[MARGIN:-MARGIN, left : left + width] = shown
        boxes.append(_box(scene, left, left + width))
    file = encode_png(to_levels(linear_to_srgb(scene * EVENING)))
    photo = marking.add_marked_photo(participant, read_photo(file), now=at)
    photo.marks.all().delete()
    Mark.objects.create(photo=photo, box=boxes.pop(), kind=Mark.Kind.PAPER)
    for yarn, box in zip(yarns, boxes, strict=True):
        Mark.objects.create(photo=photo, box=box, yarn=yarn, dye_style=yarn.dye_style)
    marking.apply_marks(photo, read_marks(photo, photo.marks.all()), now=at)
    for yarn in yarns:
        yarn.refresh_from_db()


def _box(scene: Floats, left: int, right: int) -> Box:
    rows, columns = scene.shape[:2]
    return Box(left / columns, MARGIN / rows, right / columns, 1 - MARGIN / rows)


def _knitted(swatch: Swatch, seed: int) -> Floats:
    chart = np.zeros((ROWS, STITCHES), dtype=np.intp)
    return knit(chart, [swatch], Fabric(), surface=Surface.STOCKINETTE, seed=seed)
