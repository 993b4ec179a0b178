"""A wrap card drawn: yarns wound side by side on a strip of card, in colour or as others see it.

Everything is a path with its stroke as an attribute, as the site's content policy allows no
inline style. The same yarn is always drawn alike, so a card changes only when its yarns do.
"""

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import cos, radians, sin
from typing import Final

from palettes.colour.difference import delta_e_2000
from palettes.colour.sight import Sight, as_seen
from palettes.colour.spaces import Lab, lab_to_hex
from palettes.colour.swatch import Swatch

# Units of the drawing. Our choice: forty strands fill a card about as tall as one and a half
# times its width, and each is thick enough for its shading to show on a phone.
WIDTH: Final = 200.0
STRAND: Final = 7.4
STRANDS: Final = 40
MARGIN: Final = 16.0
LEFT, RIGHT = 10.0, 190.0
HEIGHT: Final = 2 * MARGIN + STRANDS * STRAND


@dataclass(frozen=True, slots=True)
class Style:
    """How a dye style shows along a strand: what share strays, in runs how long, which way."""

    share: float
    shortest: float
    longest: float
    ways: tuple[tuple[float, float, float], ...]
    """Steps in lightness, chroma and hue."""
    thickness: float = STRAND - 0.8


# Our choice, from how such yarns look wound on a card (common practice).
TONAL: Final = Style(0.55, 18, 60, ((-1, 0.2, 0), (1, -0.2, 0)))
SPECKLED: Final = Style(0.22, 0.6, 5, ((-1, 0.3, 0), (-0.8, 0.3, 0.5), (0.8, 0.2, -0.4)), 4.6)
VARIEGATED: Final = Style(0.75, 14, 44, ((-0.8, 0, 0.7), (0.8, 0, -0.5), (0, 0.5, 1), (0, 0, -1)))
STYLES: Final = {
    "solid": TONAL,
    "semi-solid": TONAL,
    "tonal": TONAL,
    "speckled": SPECKLED,
    "variegated": VARIEGATED,
}
# CIEDE2000. Below the first nothing would be seen; the second keeps a fleck a colour of the yarn.
LEAST_STRAY, MOST_STRAY = 1.0, 40.0


@dataclass(frozen=True, slots=True)
class Path:
    """One SVG path of equal strokes."""

    d: str
    stroke: str
    width: float
    dash: str = ""
    opacity: float = 1.0
    cap: str = "butt"


@dataclass(frozen=True, slots=True)
class Band:
    """One yarn on the card."""

    paths: tuple[Path, ...]


@dataclass(frozen=True, slots=True)
class Card:
    """A wrap card, ready to be written as SVG."""

    bands: tuple[Band, ...]
    width: float = WIDTH
    height: float = HEIGHT


def draw_card(swatches: Sequence[Swatch], *, sight: Sight = Sight.COLOUR) -> Card:
    """Return the card with the yarns from top to bottom in their order."""

    def show(lab: Lab) -> str:
        return _hex(lab, sight)

    bands = []
    for place, swatch in enumerate(swatches):
        first = round(place * STRANDS / len(swatches))
        last = round((place + 1) * STRANDS / len(swatches))
        rows = [MARGIN + (strand + 0.5) * STRAND for strand in range(first, last)]
        bands.append(Band(tuple(_wind(swatch, rows, show))))
    return Card(tuple(bands))


# A page of a shortlist shows the same dozen yarns on twenty cards.
@lru_cache(maxsize=4096)
def _hex(lab: Lab, sight: Sight) -> str:
    return lab_to_hex(as_seen(lab, sight))


def _wind(swatch: Swatch, rows: Sequence[float], show: Callable[[Lab], str]) -> list[Path]:
    # Seeded by what is drawn, so that the card has the same flecks whichever way it is seen.
    dice = random.Random(f"{swatch.name}|{swatch.lab}|{swatch.dye_style}|{swatch.spread}")
    ends = [(LEFT + dice.uniform(-1.2, 1.2), RIGHT + dice.uniform(-1.2, 1.2)) for _ in rows]
    lines = [(start, y, end - start) for (start, end), y in zip(ends, rows, strict=True)]
    style = STYLES.get(swatch.dye_style or "solid", TONAL)
    whole, shadow = _strokes(lines), show(_shifted(swatch.lab, (-1, 0, 0), 14))
    edge = _strokes([(x, y + STRAND / 2 - 0.7, length) for x, y, length in lines])
    return [
        Path(whole, show(swatch.lab), STRAND - 0.2, cap="round"),
        *(
            Path(_strokes(runs), show(lab), style.thickness, cap="round")
            for lab, runs in _strays(swatch, style, lines, dice)
        ),
        # The twist of the plies, and the shade under each strand.
        Path(whole, shadow, STRAND - 0.6, dash="1.1 3.1", opacity=0.22),
        Path(edge, shadow, 1.3, opacity=0.6),
    ]


type Run = tuple[float, float, float]


def _strays(
    swatch: Swatch, style: Style, lines: Sequence[Run], dice: random.Random
) -> list[tuple[Lab, list[Run]]]:
    """Return the yarn's other colours with where they show, so that its mean stray is its own."""
    distance = min(swatch.texture / style.share, MOST_STRAY)
    if distance < LEAST_STRAY:
        return []
    runs: list[list[Run]] = [[] for _ in style.ways]
    for start, y, length in lines:
        x, end = start, start + length
        while x < end:
            run = min(dice.uniform(style.shortest, style.longest), end - x)
            # A gap before each run, so that runs cover the style's share of the strand.
            gap = run * (1 / style.share - 1) * dice.uniform(0.4, 1.6)
            if x + gap + run <= end:
                dice.choice(runs).append((x + gap, y, run))
            x += gap + run
    return [
        (_shifted(swatch.lab, way, distance), places)
        for way, places in zip(style.ways, runs, strict=True)
        if places
    ]


def _strokes(runs: Sequence[Run]) -> str:
    return "".join(f"M{x:.1f} {y:.1f}h{length:.1f}" for x, y, length in runs)


@lru_cache(maxsize=4096)
def _shifted(lab: Lab, way: tuple[float, float, float], distance: float) -> Lab:
    """Return the colour about `distance` CIEDE2000 from `lab`, that way."""
    near = _step(lab, way, distance)
    reached = delta_e_2000(lab, near)
    return _step(lab, way, distance * distance / reached) if reached > 0 else near


def _step(lab: Lab, way: tuple[float, float, float], size: float) -> Lab:
    # A dark yarn cannot stray much darker, nor a pale one paler: there it turns the other way.
    light = lab.l + way[0] * size
    if not 4 <= light <= 98:
        light = lab.l - way[0] * size
    away = radians(40 * way[2])
    a, b = (
        lab.a * cos(away) - lab.b * sin(away) + way[2] * size * 0.5,
        lab.a * sin(away) + lab.b * cos(away) - way[2] * size * 0.3,
    )
    more = 1 + way[1] * 0.4
    return Lab(min(max(light, 0.0), 100.0), _bounded(a * more), _bounded(b * more))


def _bounded(value: float) -> float:
    return min(max(value, -110.0), 110.0)
