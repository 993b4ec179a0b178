"""Drawings of a table's numbers: measures alone, which a template puts into an SVG.

Units are those of the drawing, about a pixel each on a phone 390 pixels wide.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

WIDTH: Final = 350
# Bars: a row for each, its label left and its words right.
BAR_ROW, BAR_HEIGHT, BAR_LEFT, BAR_WIDTH = 34, 24, 112, 160
TEXT_DOWN: Final = 17  # from the top of a bar to the baseline of its words
# Lines: a plot with room for the numbers left of it and the names below.
LINE_HEIGHT, LINE_LEFT, LINE_TOP, LINE_FOOT = 180, 36, 12, 150
MOST_NAMES: Final = 4  # names below a line that still stand apart; our choice


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: `y` is its top, `rail` how long it would be at the most it could be.

    `span` has the ends of a thin line across it, where the amount has a range.
    """

    label: str
    words: str
    y: int
    width: float
    rail: float
    span: tuple[float, float] | None = None

    @property
    def text_y(self) -> int:
        return self.y + TEXT_DOWN

    @property
    def middle_y(self) -> int:
        return self.y + BAR_HEIGHT // 2


@dataclass(frozen=True, slots=True)
class Bars:
    """Bars from one edge, top to bottom."""

    bars: tuple[Bar, ...]
    left: int = BAR_LEFT
    thickness: int = BAR_HEIGHT
    width: int = WIDTH

    kind = "bars"

    @property
    def height(self) -> int:
        return BAR_ROW * len(self.bars)

    @property
    def words_x(self) -> int:
        return self.left + BAR_WIDTH + 10

    @property
    def in_words(self) -> str:
        """What the bars say, for whoever does not see them."""
        return "; ".join(f"{bar.label} {bar.words}" for bar in self.bars)


@dataclass(frozen=True, slots=True)
class Name:
    """A word at a place of the drawing; `anchor` is SVG's text-anchor."""

    text: str
    x: float
    y: float
    anchor: str


@dataclass(frozen=True, slots=True)
class Line:
    """A line that rises from left to right over a few level rules."""

    points: str
    """As a polyline of SVG has them: x,y x,y …"""
    names: tuple[Name, ...]
    levels: tuple[Name, ...]
    left: int = LINE_LEFT
    right: int = WIDTH - 4
    foot: int = LINE_FOOT
    width: int = WIDTH
    height: int = LINE_HEIGHT

    kind = "line"


type Drawing = Bars | Line


def bars(
    rows: Sequence[tuple[str, float, str]],
    *,
    out_of: Sequence[float] | None = None,
    spans: Sequence[tuple[float, float]] | None = None,
) -> Bars | None:
    """Return a bar for each label, amount and words; None where there is nothing to draw.

    A bar is as long as its share of `out_of`, which is also its rail: by default the largest
    amount, the same for all. `spans` are the lowest and the highest that each amount may be.
    """
    longest = max(out_of or [amount for _, amount, _ in rows], default=0)
    if longest <= 0:
        return None
    most = out_of or [longest] * len(rows)
    ranges = [_span(span, longest) for span in spans] if spans else [None] * len(rows)
    return Bars(
        tuple(
            Bar(
                label,
                words,
                place * BAR_ROW,
                round(BAR_WIDTH * amount / longest, 1),
                round(BAR_WIDTH * rail / longest, 1),
                span,
            )
            for place, ((label, amount, words), rail, span) in enumerate(
                zip(rows, most, ranges, strict=True)
            )
        )
    )


def _span(amounts: tuple[float, float], longest: float) -> tuple[float, float]:
    low, high = (round(BAR_LEFT + BAR_WIDTH * amount / longest, 1) for amount in amounts)
    return low, high


def line(points: Sequence[tuple[str, float]]) -> Line | None:
    """Return a line through evenly spaced, named amounts from 0 up; None for fewer than two."""
    top = max((amount for _, amount in points), default=0)
    if len(points) < 2 or top <= 0:
        return None
    step = level_step(top)
    ceiling = step * math.ceil(top / step)
    right = WIDTH - 4
    xs = [LINE_LEFT + (right - LINE_LEFT) * n / (len(points) - 1) for n in range(len(points))]
    levels = [step * n for n in range(int(ceiling / step) + 1)]
    return Line(
        points=" ".join(
            f"{x:.1f},{_height(amount, ceiling):.1f}"
            for x, (_, amount) in zip(xs, points, strict=True)
        ),
        names=tuple(
            Name(points[place][0], round(xs[place], 1), LINE_FOOT + 20, _anchor(place, len(points)))
            for place in named_places(len(points))
        ),
        levels=tuple(
            Name(f"{level:g}", LINE_LEFT - 6, round(_height(level, ceiling), 1), "end")
            for level in levels
        ),
    )


def level_step(top: float) -> float:
    """Return the distance of level rules: 1, 2 or 5 times a power of ten, at most five to `top`.

    Never below 1, for what is drawn is counted.
    """
    power = 10.0 ** math.floor(math.log10(top / 5)) if top > 5 else 1.0
    return next(step for step in (power, 2 * power, 5 * power, 10 * power) if step * 5 >= top)


def named_places(count: int) -> list[int]:
    """Return the places of a line whose names are written: the ends, and some evenly between."""
    names = min(count, MOST_NAMES)
    return [round((count - 1) * n / (names - 1)) for n in range(names)]


def _height(amount: float, ceiling: float) -> float:
    return LINE_FOOT - (LINE_FOOT - LINE_TOP) * amount / ceiling


def _anchor(place: int, count: int) -> str:
    return "start" if place == 0 else "end" if place == count - 1 else "middle"
