"""QR codes on paper: the only user of segno."""

from itertools import groupby
from typing import Any, Final

import segno

from kal.paper.area import Area

# ISO/IEC 18004 asks for four modules of quiet zone on every side.
QUIET: Final = 4
# Our choice of the standard's four levels: M mends 15 % of the code, enough for a crease.
LEVEL: Final = "m"


def draw_qr(area: Area, words: str) -> None:
    """Draw a QR code that says `words` as large as the area lets it, at its top left."""
    modules = [list(row) for row in segno.make_qr(words, error=LEVEL).matrix]
    side = min(area.width, area.height)
    step = side / (len(modules) + 2 * QUIET)
    path: Any = area.canvas.beginPath()
    for line, row in enumerate(modules):
        top = area.top - (QUIET + line) * step
        for start, length in dark_runs(row):
            path.rect(area.left + (QUIET + start) * step, top - step, length * step, step)
    area.canvas.setFillColor("#000000")
    area.canvas.drawPath(path, stroke=0, fill=1)


def dark_runs(row: list[int]) -> list[tuple[int, int]]:
    """Return where each run of dark modules starts and how long it is."""
    runs, place = [], 0
    for is_dark, group in groupby(row):
        length = len(list(group))
        if is_dark:
            runs.append((place, length))
        place += length
    return runs
