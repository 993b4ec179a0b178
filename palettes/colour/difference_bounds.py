"""How near a colour can be to any of a group, by CIEDE2000, without looking at each of them.

CIEDE2000 is no metric, so nothing follows from the difference to a group's centre. Instead every
term of the formula is held between bounds that no colour of the group's box passes, and the least
difference that those allow is worked out. Why each step holds is in docs/gallery.md. Equation
numbers are those of Sharma, Wu & Dalal (2005), doi:10.1002/col.20070.
"""

from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from palettes.colour.difference import vividness
from palettes.colour.spaces import AnyFloats, Floats

type Singles = NDArray[np.float32]

# Taken off every bound: a hundred times what single precision rounds away. Our choice.
ROUNDING: Final = 0.001
# (15): no hue takes T further than this from 1, or changes it by more a radian: the sums of its
# coefficients, plain and each times its frequency.
_T_REACH: Final = 0.17 + 0.24 + 0.32 + 0.20
_T_SLOPE: Final = 0.17 + 2 * 0.24 + 3 * 0.32 + 4 * 0.20
_BLUE, _BLUE_WIDTH, _MOST_TURN = (float(np.radians(angle)) for angle in (275, 25, 60))
_TURN: Final = 2 * np.pi


class Span(NamedTuple):
    """The least and the most that something can be."""

    low: AnyFloats
    high: AnyFloats

    @property
    def least_size(self) -> AnyFloats:
        """The least that its absolute value can be."""
        return np.maximum(np.maximum(self.low, -self.high), 0)

    @property
    def most_size(self) -> AnyFloats:
        return np.maximum(np.abs(self.low), np.abs(self.high))


@dataclass(frozen=True, slots=True, eq=False)
class Boxes:
    """For each group of colours, between what its colours lie: every array is (groups,)."""

    light: Span
    a: Span
    b: Span
    chroma: Span
    hue: Span
    """In radians, the least in no certain turn and the most no more than a turn above it."""
    cosine_squared: Span
    """Of any hue between the two."""


def boxes_of(labs: Floats, groups: NDArray[np.intp]) -> Boxes:
    """Return the boxes of colours (n, 3) in groups (n,), which are numbered from 0 with no gap."""
    order = np.argsort(groups, kind="stable")
    light, a, b = labs[order].T
    groups = groups[order]
    starts = np.flatnonzero(np.diff(groups, prepend=-1))

    def span(values: Floats) -> tuple[Floats, Floats]:
        return np.minimum.reduceat(values, starts), np.maximum.reduceat(values, starts)

    hue = np.arctan2(b, a)
    first = hue[starts]
    low, high = span((hue - first[groups] + np.pi) % _TURN - np.pi)
    hues = first + low, first + high
    return Boxes(
        light=_single(*span(light)),
        a=_single(*span(a)),
        b=_single(*span(b)),
        chroma=_single(*span(np.hypot(a, b))),
        hue=_single(*hues),
        cosine_squared=_single(*_cosines_squared(*hues)),
    )


class _Hue(NamedTuple):
    middle: AnyFloats
    either_way: AnyFloats


def least_differences(asked: Floats, boxes: Boxes) -> Singles:
    """Return a bound below every difference of each colour asked about from each group.

    (n, 3) -> (n, groups).
    """
    return np.stack([_least_from(np.asarray(one, dtype=np.float32), boxes) for one in asked])


def _least_from(one: Singles, boxes: Boxes) -> Singles:
    light, a, b = one
    stretch = _stretch(np.hypot(a, b), boxes.chroma)
    chromas = _own_chroma(a, b, stretch), _chroma(boxes, stretch)
    mean = Span(*((first + second) / 2 for first, second in zip(*chromas, strict=True)))
    apart, hue = _hues(np.arctan2(b, a), boxes, stretch)

    # (16), (17), (19)-(21).
    s_c = Span(1 + 0.045 * mean.low, 1 + 0.045 * mean.high)
    t = _t(hue)
    s_h = Span(1 + 0.015 * mean.low * t.low, 1 + 0.015 * mean.high * t.high)
    blue = np.abs((hue.middle - _BLUE + np.pi) % _TURN - np.pi)
    off = np.maximum(blue - hue.either_way, 0) / _BLUE_WIDTH
    turn = 2 * np.sin(_MOST_TURN * np.exp(-(off**2))) * vividness(mean.high)

    chroma = Span(chromas[1].low - chromas[0].high, chromas[1].high - chromas[0].low)
    by_chroma = Span(chroma.least_size / s_c.high, chroma.most_size / s_c.low)
    by_hue = _chord(chromas, apart, s_h)
    colour = np.maximum(
        _least_form(by_chroma, by_hue, turn),
        _least_straight(a, b, boxes, stretch.low)
        / np.maximum(s_c.high, s_h.high) ** 2
        # Half the turn is the most that the mixed term takes from the sum of the squares.
        * (1 - turn / 2),
    )
    bound = np.sqrt(_lightness(light, boxes.light) ** 2 + colour)
    return np.asarray(np.maximum(bound - ROUNDING, 0), dtype=np.float32)


def _lightness(light: np.float32, others: Span) -> AnyFloats:
    """Return the least of the lightness term; its weight (18) grows away from L* 50."""
    gap = Span(others.low - light, others.high - light)
    off = Span(*((side + light) / 2 - 50 for side in others)).most_size ** 2
    return np.asarray(gap.least_size / (1 + 0.015 * off / np.sqrt(20 + off)))


def _stretch(own: np.float32, others: Span) -> Span:
    """(4), (5): what a* is multiplied by, for both colours alike; it falls with their chroma."""
    low, high = (1.5 - 0.5 * vividness((own + side) / 2) for side in reversed(others))
    return Span(low, high)


def _own_chroma(a: np.float32, b: np.float32, stretch: Span) -> Span:
    low, high = (np.sqrt((a * side) ** 2 + b * b) for side in stretch)
    return Span(low, high)


def _chroma(boxes: Boxes, stretch: Span) -> Span:
    """(6): grows with the chroma, the stretch and the squared cosine of the hue."""
    low, high = (
        chroma * np.sqrt(1 + (side * side - 1) * cosine)
        for chroma, side, cosine in zip(boxes.chroma, stretch, boxes.cosine_squared, strict=True)
    )
    return Span(low, high)


def _hues(own: np.float32, boxes: Boxes, stretch: Span) -> tuple[Span, _Hue]:
    """Return how far apart the stretched hues are (10), and the hue between them (14)."""
    ends = _stretched(own, stretch)
    mine = Span(np.minimum(*ends), np.maximum(*ends))
    firsts, lasts = (_stretched(hue, stretch) for hue in boxes.hue)
    theirs = Span(np.minimum(*firsts), np.maximum(*lasts))
    low, high = theirs.low - mine.high, theirs.high - mine.low
    turns = np.round((low + high) / 2 / _TURN) * _TURN
    size, half = np.abs((low + high) / 2 - turns), (high - low) / 2
    farthest = size + half
    apart = Span(np.maximum(size - half, 0), np.minimum(farthest, np.pi))
    # Where hues may be opposite, the one between may be either of two, so nothing is known of it.
    either_way = np.where(farthest >= np.pi - ROUNDING, np.pi, half / 2)
    middle = (mine.low + mine.high + theirs.low + theirs.high) / 4 - turns / 2
    return apart, _Hue(middle, either_way)


def _stretched(hue: AnyFloats | np.float32, stretch: Span) -> tuple[AnyFloats, ...]:
    """(7), at either stretch: it rises with the hue, and with the stretch moves one way only."""
    sine, cosine = np.sin(hue), np.cos(hue)
    slant, level = sine * cosine, cosine * cosine
    return tuple(hue + np.arctan((1 - side) * slant / (1 + (side - 1) * level)) for side in stretch)


def _t(hue: _Hue) -> Span:
    """(15), by the greatest slope it can have."""
    h = hue.middle
    t = (
        1
        - 0.17 * np.cos(h - np.float32(np.radians(30)))
        + 0.24 * np.cos(2 * h)
        + 0.32 * np.cos(3 * h + np.float32(np.radians(6)))
        - 0.20 * np.cos(4 * h - np.float32(np.radians(63)))
    )
    off = _T_SLOPE * hue.either_way
    return Span(np.maximum(t - off, 1 - _T_REACH), np.minimum(t + off, 1 + _T_REACH))


def _chord(chromas: tuple[Span, Span], apart: Span, s_h: Span) -> Span:
    """(11): the hue term, without its sign."""
    low, high = (
        2 * np.sqrt(first * second) * np.sin(angle / 2)
        for first, second, angle in zip(*chromas, apart, strict=True)
    )
    return Span(low / s_h.high, high / s_h.low)


def _least_form(u: Span, v: Span, turn: AnyFloats) -> AnyFloats:
    """Return the least of u^2 + v^2 - turn u v in a rectangle, where neither is negative.

    Along any line from 0 it grows, so it is least on the rectangle's near sides; on each it is a
    parabola.
    """
    across = np.clip(turn / 2 * u.low, v.low, v.high)
    along = np.clip(turn / 2 * v.low, u.low, u.high)
    return np.minimum(
        u.low**2 + across**2 - turn * u.low * across, along**2 + v.low**2 - turn * along * v.low
    )


def _least_straight(a: np.float32, b: np.float32, boxes: Boxes, stretch: AnyFloats) -> AnyFloats:
    """Return the least of the squares of (8) and (11) together: those of a' and b* together."""
    across = Span(*(side - a for side in boxes.a)).least_size * stretch
    along = Span(*(side - b for side in boxes.b)).least_size
    return np.asarray(across**2 + along**2)


def _cosines_squared(low: Floats, high: Floats) -> tuple[Floats, Floats]:
    ends = np.cos(low) ** 2, np.cos(high) ** 2
    straight, level = (
        np.floor(high / np.pi - off) > np.floor(low / np.pi - off) for off in (0.5, 0.0)
    )
    return (
        np.where(straight, 0.0, np.minimum(*ends)),
        np.where(level, 1.0, np.maximum(*ends)),
    )


def _single(low: Floats, high: Floats) -> Span:
    return Span(low.astype(np.float32), high.astype(np.float32))
