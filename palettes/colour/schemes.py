"""The colour-theory name of a palette's scheme, from its hue angles.

The wheel is CIELAB's own: evenly spaced to the eye, with red opposite blue-green and yellow
opposite violet-blue, much as in Munsell's. A painter's red-yellow-blue wheel pairs some hues
differently.
"""

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from palettes.colour.spaces import Lab, chroma, hue_angle


class Scheme(StrEnum):
    """Names from colour theory; the first three have at most one family of hues."""

    NEUTRAL = "neutral"
    ACCENTED_NEUTRAL = "accented_neutral"
    MONOCHROMATIC = "monochromatic"
    ANALOGOUS = "analogous"
    COMPLEMENTARY = "complementary"
    SPLIT_COMPLEMENTARY = "split_complementary"
    TRIADIC = "triadic"
    TWO_HUES = "two_hues"
    POLYCHROME = "polychrome"


# Our choices throughout, on the twelve-part wheel of the textbooks, whose parts are 30 degrees.
NEUTRAL_CHROMA = 10.0  # C*ab under which the eye names a grey, not a hue
WEAK_SHARE = 0.2  # a hue under this share of the strongest chroma does not count as a colour
SAME_HUE_DEG = 30.0  # one part: the same hue, lighter or darker
NEIGHBOURS_DEG = 90.0  # three parts: neighbours on the wheel
OPPOSITE_WITHIN_DEG = 30.0  # one part either side of exactly opposite
THIRD_WITHIN_DEG = 25.0  # how far the three steps of a triad may stray from 120 degrees


@dataclass(frozen=True, slots=True)
class SchemeReading:
    """A scheme with the numbers that decided it."""

    scheme: Scheme
    hues: tuple[float, ...]
    """The mean hue angle of each group of like hues, in degrees, ascending."""
    arc: float
    """Degrees of the wheel that hold every coloured yarn; 0 without any."""
    neutrals: tuple[int, ...]
    """Positions of the yarns that count as neutral."""


def read_scheme(labs: Sequence[Lab]) -> SchemeReading:
    """Return the scheme of a palette of one or more colours."""
    chromas = [chroma(lab) for lab in labs]
    least = max(NEUTRAL_CHROMA, WEAK_SHARE * max(chromas))
    coloured = [i for i, value in enumerate(chromas) if value >= least]
    neutrals = tuple(i for i, value in enumerate(chromas) if value < least)
    hues = [hue_angle(labs[i]) for i in coloured]
    groups = _group(hues, [chromas[i] for i in coloured])
    arc = _arc(hues)
    scheme = _name(len(coloured), len(neutrals), groups, arc)
    return SchemeReading(scheme, tuple(sorted(groups)), arc, neutrals)


def _name(coloured: int, neutrals: int, groups: Sequence[float], arc: float) -> Scheme:
    if not coloured:
        return Scheme.NEUTRAL
    if neutrals > coloured:
        return Scheme.ACCENTED_NEUTRAL
    if arc <= SAME_HUE_DEG:
        return Scheme.MONOCHROMATIC
    if arc <= NEIGHBOURS_DEG:
        return Scheme.ANALOGOUS
    if len(groups) == 2:
        return Scheme.COMPLEMENTARY if _opposite(*groups) else Scheme.TWO_HUES
    return _name_three(groups) if len(groups) == 3 else Scheme.POLYCHROME


def _name_three(groups: Sequence[float]) -> Scheme:
    first, second, third = groups
    turns = ((first, second, third), (second, first, third), (third, first, second))
    steps = [_between(first, second), _between(second, third), _between(third, first)]
    if all(abs(step - 120) <= THIRD_WITHIN_DEG for step in steps):
        return Scheme.TRIADIC
    for alone, one, other in turns:
        near = _between(one, other) <= NEIGHBOURS_DEG
        if near and _opposite(alone, _middle([one, other], [1.0, 1.0])):
            return Scheme.SPLIT_COMPLEMENTARY
    return Scheme.POLYCHROME


def _group(hues: Sequence[float], weights: Sequence[float]) -> list[float]:
    """Return the chroma-weighted mean hue of each run of hues without a gap over `SAME_HUE_DEG`."""
    if not hues:
        return []
    order = sorted(range(len(hues)), key=lambda i: hues[i])
    start = _widest_gap([hues[i] for i in order])[1]
    turned = order[start:] + order[:start]
    runs = [[turned[0]]]
    for last, this in pairwise(turned):
        if _between(hues[last], hues[this]) > SAME_HUE_DEG:
            runs.append([])
        runs[-1].append(this)
    return [_middle([hues[i] for i in run], [weights[i] for i in run]) for run in runs]


def _arc(hues: Sequence[float]) -> float:
    return 360 - _widest_gap(sorted(hues))[0] if len(hues) > 1 else 0.0


def _widest_gap(ascending: Sequence[float]) -> tuple[float, int]:
    """Return the widest empty stretch of the wheel and the position of the hue that ends it."""
    # Round the wheel from the last to the first: all of it when every hue is the same.
    gaps = [(360 - (ascending[-1] - ascending[0]), 0)]
    gaps += [(ascending[i] - ascending[i - 1], i) for i in range(1, len(ascending))]
    return max(gaps, key=lambda gap: gap[0])


def _middle(hues: Sequence[float], weights: Sequence[float]) -> float:
    turned = (
        cmath.rect(weight, math.radians(hue)) for weight, hue in zip(weights, hues, strict=True)
    )
    return math.degrees(cmath.phase(sum(turned))) % 360


def _between(first: float, second: float) -> float:
    apart = abs(first - second) % 360
    return min(apart, 360 - apart)


def _opposite(first: float, second: float) -> bool:
    return 180 - _between(first, second) <= OPPOSITE_WITHIN_DEG
