"""The CIEDE2000 colour difference, for one pair or for whole arrays.

Written out here in the paper's own order rather than taken from colormath: that library's
`delta_e_cie2000` wrappers call a function numpy has removed, and its matrix function does
not wrap the mean hue back under 360 degrees, so it strays a little near red (see the tests).
"""

import math

import numpy as np
from numpy.typing import ArrayLike

from palettes.colour.spaces import Floats, Lab

# Two colours exactly opposite in hue have two mean hues to choose between, and rounding in the
# last bit would choose. Within this many degrees of opposite, the paper's first branch is taken.
OPPOSITE_TOLERANCE_DEG = 1e-9

_POW25_7 = 25.0**7
_6_DEG, _30_DEG, _63_DEG = (math.radians(degrees) for degrees in (6, 30, 63))


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
    """Return the differences of colours taken pair by pair: (..., 3), (..., 3) -> (...).

    kL = kC = kH = 1. Equation numbers are those of Sharma, Wu & Dalal (2005).
    The result is the same, to the last bit, with the two inputs exchanged.
    """
    l1, a1, b1 = _planes(first)
    l2, a2, b2 = _planes(second)

    # (2)-(7): chroma and hue, with a* stretched so that near-greys separate as the eye sees them.
    mean_c7 = ((_length(a1, b1) + _length(a2, b2)) / 2) ** 7
    stretch = 1 + 0.5 * (1 - np.sqrt(mean_c7 / (mean_c7 + _POW25_7)))
    c1, c2 = _length(stretch * a1, b1), _length(stretch * a2, b2)
    h1, h2 = _angle(stretch * a1, b1), _angle(stretch * a2, b2)

    # (8)-(11): differences; hue goes the short way round and means nothing beside a grey.
    delta_l, delta_c, delta_h = l2 - l1, c2 - c1, h2 - h1
    apart = np.abs(delta_h) > 180 + OPPOSITE_TOLERANCE_DEG
    delta_h = np.where(apart, delta_h - np.copysign(360, delta_h), delta_h)
    delta_big_h = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(delta_h) / 2)

    # (12)-(14): means; the mean hue is kept under 360, or the rotation term (16) goes astray.
    # The paper's case for a grey is left out: its hue difference is 0, so its mean hue is unused.
    mean_l, mean_c, mean_h = (l1 + l2) / 2, (c1 + c2) / 2, (h1 + h2) / 2
    mean_h = np.where(apart, mean_h - np.copysign(180, mean_h - 180), mean_h)

    # (15)-(21): weights.
    radians = np.radians(mean_h)
    t = (
        1
        - 0.17 * np.cos(radians - _30_DEG)
        + 0.24 * np.cos(2 * radians)
        + 0.32 * np.cos(3 * radians + _6_DEG)
        - 0.20 * np.cos(4 * radians - _63_DEG)
    )
    delta_theta = 30 * np.exp(-(((mean_h - 275) / 25) ** 2))
    mean_c_prime7 = mean_c**7
    r_c = 2 * np.sqrt(mean_c_prime7 / (mean_c_prime7 + _POW25_7))
    from_middle = (mean_l - 50) ** 2
    s_l = 1 + 0.015 * from_middle / np.sqrt(20 + from_middle)
    s_c = 1 + 0.045 * mean_c
    s_h = 1 + 0.015 * mean_c * t
    r_t = -np.sin(np.radians(2 * delta_theta)) * r_c

    # (22).
    lightness, colour, hue = delta_l / s_l, delta_c / s_c, delta_big_h / s_h
    # Grouped so that exchanging the inputs only flips signs inside a product or a square.
    return np.asarray(np.sqrt(lightness**2 + colour**2 + hue**2 + r_t * (colour * hue)))


def _planes(lab: ArrayLike) -> Floats:
    # One block of memory per coordinate: strided views make every later step half as slow again.
    return np.ascontiguousarray(np.moveaxis(np.asarray(lab, dtype=np.float64), -1, 0))


def _length(a: Floats, b: Floats) -> Floats:
    # Half the time of np.hypot, whose care for huge numbers no colour needs.
    return np.asarray(np.sqrt(a * a + b * b))


def _angle(a: Floats, b: Floats) -> Floats:
    """Return the hue angle in degrees, 0 <= h <= 360; 0 for a grey."""
    degrees = np.degrees(np.arctan2(b, a))
    return np.where(degrees < 0, degrees + 360, degrees)
