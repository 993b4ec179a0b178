"""A few sections of sentences on paper: headings, bullets, and a foot on every page."""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Any, Final, Protocol

from django.utils.translation import gettext as _

from kal.paper.area import MUTED, Area
from kal.paper.sheets import MARGIN, Paper
from kal.typeset import ITALIC, drawing

TITLE: Final = (27, 24, 21, 18, 15)
HEAD: Final = (14,)
# Our choice: common practice calls 9 points and less small print.
BODY: Final = (10.5, 10, 9.5)
SMALL: Final = (8.5, 8, 7, 6)
INDENT: Final = 12.0
FOOT: Final = 26.0
MOST_LINES: Final = 40  # of one sentence; more is cut, and no sentence of ours comes near


class Written(Protocol):
    """A heading and its sentences."""

    @property
    def heading(self) -> str: ...
    @property
    def lines(self) -> Sequence[str]: ...


@dataclass(frozen=True, slots=True)
class Pack:
    """What is printed: whose title, under which line, the sections, and where it is also read."""

    title: str
    subtitle: str
    sections: Sequence[Written]
    foot: str


def pack_pdf(pack: Pack, paper: Paper) -> bytes:
    """Return the sections as a PDF; equal packs, equal bytes.

    On one page where a size of print still to be read with ease allows it, else on as many as
    the largest takes.
    """
    drawn = [_draw(pack, paper, size) for size in BODY]
    return next((data for data, pages in drawn if pages == 1), drawn[0][0])


def _draw(pack: Pack, paper: Paper, size: float) -> tuple[bytes, int]:
    """Return the PDF at one size of print, and its number of pages."""
    buffer = BytesIO()
    with drawing(buffer, paper.value, title=f"{pack.title}: {pack.subtitle}") as canvas:
        pages = _Pages(canvas, paper, pack.foot)
        area = pages.area
        area.place(area.set(pack.subtitle, SMALL, ink=MUTED))
        area.place(area.set(pack.title, TITLE, most_lines=3))
        for section in pack.sections:
            _draw_section(pages, section, (size,))
        pages.end()
    return buffer.getvalue(), pages.number


class _Pages:
    """The page being filled, and the next one when there is no more room."""

    def __init__(self, canvas: Any, paper: Paper, foot: str) -> None:
        self.canvas, self.paper, self.foot, self.number = canvas, paper, foot, 1
        self.area = self._fresh()

    def _fresh(self) -> Area:
        width, height = self.paper.value
        return Area(self.canvas, MARGIN, MARGIN + FOOT, width - MARGIN, height - MARGIN)

    def need(self, height: float) -> Area:
        """Return the rest of the page, or a fresh one when less than `height` is left."""
        if self.area.height < height:
            self.end()
            self.number += 1
            self.area = self._fresh()
        return self.area

    def end(self) -> None:
        foot = self._fresh()
        foot = Area(self.canvas, foot.left, MARGIN, foot.right, MARGIN + FOOT - 10)
        foot.rule()
        foot.take_top(5)
        page = foot.take_right(70, 10)
        page.place(page.set(_("page %d") % self.number, SMALL, ink=MUTED, align="right"))
        foot.place(foot.set(self.foot, SMALL, ink=MUTED))
        self.canvas.showPage()


def _draw_section(pages: _Pages, section: Written, size: tuple[float]) -> None:
    area = pages.area
    heading = area.set(section.heading, HEAD)
    first = area.set(section.lines[0], size, most_lines=MOST_LINES)
    # A heading is not left alone at the foot of a page.
    area = pages.need(heading.height + 14 + first.height)
    area.take_top(12)
    area.place(heading)
    area.take_top(2)
    for sentence in section.lines:
        narrow = Area(area.canvas, area.left + INDENT, area.bottom, area.right, area.top)
        block = narrow.set(sentence, size, most_lines=MOST_LINES)
        area = pages.need(block.height + 3)
        line = area.take_top(block.height + 3)
        mark = line.take_left(INDENT)
        mark.place(mark.set("\N{EN DASH}", size, font=ITALIC, ink=MUTED))
        line.place(block)
