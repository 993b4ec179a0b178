"""The CIEDE2000 colour difference, for one pair or for whole arrays.

Written out here rather than taken from colormath: that library's `delta_e_cie2000` wrappers call
a function numpy has removed, and its matrix function does not wrap the mean hue back under 360
degrees, so it strays a little near red (see the tests).

The steps follow the paper, but for one thing. A colour's (a', b') already holds the cosine and
sine of its hue, so sums and products of those give every trigonometric term but one without
a sine, cosine or arctangent for each colour; that halves the time.
"""

import math

import numpy as np
from numpy.typing import ArrayLike

from palettes.colour.spaces import AnyFloats, Floats, Lab

# Two colours exactly opposite in hue have two mean hues to choose between, and rounding in the
# last bit would choose. Within this many degrees of opposite, the paper's first branch is taken.
OPPOSITE_TOLERANCE_DEG = 1e-9

_POW25_7 = 25.0**7
# (15), T as 1 plus the real part of a polynomial in cos h + i sin h, lowest power first.
_T1, _T2, _T3, _T4 = (
    weight * complex(math.cos(math.radians(turn)), math.sin(math.radians(turn)))
    for weight, turn in ((-0.17, -30), (0.24, 0), (0.32, 6), (-0.20, -63))
)
_TINY = 1e-30
_BLUE = math.radians(275 - 180)
_SHARPNESS = -1 / math.radians(25) ** 2
# Below this power of e the turn of (16) is nothing; numbers that small stall the processor.
_FAINTEST = -40.0
_TWICE_30_DEG = math.radians(60)


def delta_e_2000(first: Lab, second: Lab) -> float:
    """Return the CIEDE2000 difference: unitless, 0 for identical colours.

    Inputs are CIE L*a*b*, D65, 2 degree observer, L* in 0..100.
    Source: Sharma, Wu & Dalal (2005), doi:10.1002/col.20070.
    """
    return float(delta_e_2000_pairs(first, second))


def delta_e_2000_matrix(first: ArrayLike, second: ArrayLike) -> Floats:
    """Return every difference between two lists of colours: shapes (n, 3), (m, 3) -> (n, m)."""
    rows = np.asarray(first, dtype=np.float64)
    columns = np.asarray(second, dtype=np.float64)
    return delta_e_2000_pairs(rows[:, np.newaxis, :], columns[np.newaxis, :, :])


def delta_e_2000_pairs(first: ArrayLike, second: ArrayLike) -> Floats:
    """Return the differences of colours taken pair by pair: (..., 3), (..., 3) -> (...)."""
    sides = np.broadcast_arrays(
        np.asarray(first, dtype=np.float64), np.asarray(second, dtype=np.float64)
    )
    planes = np.moveaxis(np.stack(sides), -1, 0).reshape(3, 2, -1)
    shape = sides[0].shape[:-1]
    return np.asarray(delta_e_2000_planes(planes).reshape(shape), dtype=np.float64)


def delta_e_2000_planes(lab: AnyFloats) -> AnyFloats:
    """Return the differences of pairs in planes of L*, a* and b*: (3, 2, n) -> (n,).

    The second axis holds the two colours of each pair. kL = kC = kH = 1. Equation numbers are
    those of Sharma, Wu & Dalal (2005). The result has the precision of the input, and is the
    same, to the last bit, with the two colours exchanged: sums and differences are grouped so
    that an exchange only flips signs inside a product or a square.
    """
    (l1, l2), a, b = lab

    # (2)-(6): chroma, with a* stretched so that near-greys separate as the eye sees them.
    c1, c2 = _length(a, b)
    a = a * (1.5 - 0.5 * vividness((c1 + c2) / 2))
    (a1, a2), (b1, b2), (c1, c2) = a, b, _length(a, b)

    # (7), (10), (11), (14): c1 c2 times the sine of the angle between the hues, and times one
    # plus its cosine. Greys have no hue; there the tiny number keeps 0 / 0 away.
    both = c1 * c2
    delta_h = a1 * b2 - a2 * b1
    alike = both + (a1 * a2 + b1 * b2)
    alike_or_tiny = np.maximum(alike, _TINY)
    delta_h *= np.sqrt(2 / alike_or_tiny)
    per_length = 1 / np.maximum(np.sqrt(2 * both * alike_or_tiny), _TINY)
    cosine, sine = (a1 * c2 + a2 * c1) * per_length, (b1 * c2 + b2 * c1) * per_length
    opposite = alike < np.finfo(alike.dtype).eps ** 0.5 * both
    if opposite.any():
        places = np.flatnonzero(opposite)
        facing = (plane[places] for plane in (a1, b1, a2, b2))
        delta_h[places], cosine[places], sine[places] = _opposite_hues(*facing)

    # (8), (9), (12), (13).
    delta_l, delta_c = l2 - l1, c2 - c1
    mean_c = (c1 + c2) / 2
    from_middle = np.square((l1 + l2) / 2 - 50)

    # (15)-(21): weights.
    h = np.empty(sine.shape, dtype=np.result_type(sine, np.complex64))
    h.real, h.imag = cosine, sine
    t = (1 + h * (_T1 + h * (_T2 + h * (_T3 + h * _T4)))).real
    # Counted from 180 degrees, an angle breaks off where the paper's does, at 0 and 360.
    from_blue = np.arctan2(-sine, -cosine) - _BLUE
    two_delta_theta = _TWICE_30_DEG * np.exp(np.maximum(_SHARPNESS * from_blue**2, _FAINTEST))
    s_l = 1 + 0.015 * from_middle / np.sqrt(20 + from_middle)
    s_c = 1 + 0.045 * mean_c
    s_h = 1 + 0.015 * mean_c * t
    r_t = -2 * np.sin(two_delta_theta) * vividness(mean_c)

    # (22).
    lightness, colour, hue = delta_l / s_l, delta_c / s_c, delta_h / s_h
    return np.asarray(np.sqrt(lightness**2 + colour**2 + hue**2 + r_t * (colour * hue)))


def _length(a: AnyFloats, b: AnyFloats) -> AnyFloats:
    # Half the time of np.hypot, whose care for huge numbers no colour needs.
    return np.sqrt(a * a + b * b)


def vividness(c: AnyFloats) -> AnyFloats:
    """Return sqrt(c^7 / (c^7 + 25^7)): 0 for a grey, near 1 for a vivid colour."""
    c7 = c * np.square(c * c * c)
    return np.sqrt(c7 / (c7 + _POW25_7))


def _opposite_hues(
    a1: AnyFloats, b1: AnyFloats, a2: AnyFloats, b2: AnyFloats
) -> tuple[AnyFloats, AnyFloats, AnyFloats]:
    """Return delta H', and the cosine and sine of the mean hue, of nearly opposite hues.

    By their angles, as the paper has it: here the shortcut would divide by a rounding error.
    """
    h1, h2 = (np.degrees(np.arctan2(b, a)) % 360 for a, b in ((a1, b1), (a2, b2)))
    apart = h2 - h1
    wraps = np.abs(apart) > 180 + OPPOSITE_TOLERANCE_DEG
    half = np.radians(np.where(wraps, apart - np.copysign(360, apart), apart) / 2)
    mean = np.radians(np.where(wraps, (h1 + h2) / 2 - 180, (h1 + h2) / 2))
    delta_h = 2 * np.sqrt(_length(a1, b1) * _length(a2, b2)) * np.sin(half)
    return delta_h, np.cos(mean), np.sin(mean)
