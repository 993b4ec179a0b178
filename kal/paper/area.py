"""A part of the page: where things go and how words are set there."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from kal.typeset import ROMAN, fit, text_width

# static/css/site.css: the same ink, muted ink, hairlines and card edge as on the pages.
INK, MUTED, RULE, EDGE, BOARD = "#23211e", "#5c5852", "#dcd8cf", "#857f75", "#f6f3ec"

Align = Literal["left", "centre", "right"]
LEADING = 1.22  # line height over letter size; our choice, close for short lines


@dataclass(frozen=True, slots=True)
class Block:
    """Lines of text at one size in points, ready to be placed."""

    lines: tuple[str, ...]
    size: float
    font: str
    ink: str
    align: Align

    @property
    def height(self) -> float:
        """The points it covers from top to bottom."""
        return len(self.lines) * self.size * LEADING


@dataclass
class Area:
    """A rectangle of the canvas in points, y upwards; taking a part away leaves the rest."""

    canvas: Any
    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.top - self.bottom

    def take_top(self, height: float) -> "Area":
        """Return the topmost part, no longer part of this area."""
        self.top -= height
        return Area(self.canvas, self.left, self.top, self.right, self.top + height)

    def take_bottom(self, height: float) -> "Area":
        """Return the lowest part, no longer part of this area."""
        self.bottom += height
        return Area(self.canvas, self.left, self.bottom - height, self.right, self.bottom)

    def take_left(self, width: float, gap: float = 0.0) -> "Area":
        """Return the leftmost part, no longer part of this area, nor is the gap after it."""
        part = Area(self.canvas, self.left, self.bottom, self.left + width, self.top)
        self.left = part.right + gap
        return part

    def take_right(self, width: float, gap: float = 0.0) -> "Area":
        """Return the rightmost part, no longer part of this area, nor is the gap before it."""
        part = Area(self.canvas, self.right - width, self.bottom, self.right, self.top)
        self.right = part.left - gap
        return part

    def columns(self, count: int) -> list["Area"]:
        """Return the area as `count` columns of one width, left to right."""
        width, whole = self.width / count, Area(**vars(self))
        return [whole.take_left(width) for _ in range(count)]

    def centre(self, height: float) -> "Area":
        """Return the part of this height halfway up."""
        middle = (self.top + self.bottom) / 2
        return Area(self.canvas, self.left, middle - height / 2, self.right, middle + height / 2)

    def set(
        self,
        text: str,
        sizes: Sequence[float],
        *,
        font: str = ROMAN,
        ink: str = INK,
        align: Align = "left",
        most_lines: int = 1,
    ) -> Block:
        """Return the text broken to this width, at the first size at which it fits."""
        fitted = fit(text, font, self.width, sizes, most_lines)
        return Block(fitted.lines, fitted.size, font, ink, align)

    def place(self, block: Block) -> None:
        """Draw the block at the top and take what it covers."""
        part = self.take_top(block.height)
        self.canvas.setFillColor(block.ink)
        self.canvas.setFont(block.font, block.size)
        # A full size below the line's upper edge leaves room for accents and for descenders.
        baseline = part.top - block.size
        for line in block.lines:
            self.canvas.drawString(part._start_of(line, block), baseline, line)
            baseline -= block.size * LEADING

    def _start_of(self, line: str, block: Block) -> float:
        spare = self.width - text_width(line, block.font, block.size)
        return self.left + {"left": 0.0, "centre": spare / 2, "right": spare}[block.align]

    def box(self, *, fill: str = "", edge: str = "", line: float = 0.4) -> None:
        """Draw the area as a rectangle."""
        if fill:
            self.canvas.setFillColor(fill)
        if edge:
            self.canvas.setStrokeColor(edge)
            self.canvas.setLineWidth(line)
        self.canvas.rect(
            self.left, self.bottom, self.width, self.height, stroke=bool(edge), fill=bool(fill)
        )

    def rule(self) -> None:
        """Draw a hairline along the upper edge."""
        self.canvas.setStrokeColor(RULE)
        self.canvas.setLineWidth(0.6)
        self.canvas.line(self.left, self.top, self.right, self.top)
