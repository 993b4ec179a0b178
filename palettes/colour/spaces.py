"""sRGB, linear light, XYZ and CIE L*a*b*, one colour or a whole array at a time.

Everything is CIE 1931 2 degree observer, D65. XYZ is scaled so that white has Y = 1.
Arrays hold the three components in their last axis and may have any number of others.
"""

import math
import re
from typing import Any, NamedTuple

import numpy as np
from colormath.color_constants import ADAPTATION_MATRICES
from numpy.typing import ArrayLike, NDArray

from palettes.colour.errors import BadHexColour, BadLab

Floats = NDArray[np.float64]
AnyFloats = NDArray[np.floating[Any]]

# IEC 61966-2-1: chromaticities of the sRGB primaries and of D65 as that standard rounds it.
SRGB_PRIMARIES_XY = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))
D65_XY = (0.3127, 0.3290)
# SMPTE RP 431-2: the primaries of Display P3, whose white is D65 and whose curve is sRGB's.
P3_PRIMARIES_XY = ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060))
# CIE 15: D50, the white of ICC profiles and of the ColorChecker's data sheets.
D50_XY = (0.34567, 0.35850)

# CIE 15:2004, equation 8.x, as exact fractions: where the cube root gives way to a straight line.
LAB_EPSILON = 216 / 24389
LAB_KAPPA = 24389 / 27

# Lam (1985), the Bradford cone responses used by ICC.1 for chromatic adaptation.
BRADFORD = np.array(ADAPTATION_MATRICES["bradford"])

# No yarn, light or display reaches this far; a wider number is a slip of the keyboard.
MAX_AB = 200.0

_HEX = re.compile(r"#?([0-9a-fA-F]{3}|[0-9a-fA-F]{6})")


class Lab(NamedTuple):
    """One colour in CIE L*a*b*, D65, 2 degree observer; L* in 0..100."""

    l: float  # noqa: E741  the field's own name for it
    a: float
    b: float


def white_xyz(xy: tuple[float, float]) -> Floats:
    """Return XYZ with Y = 1 of the white that has chromaticity `xy`."""
    x, y = xy
    return np.array([x / y, 1.0, (1 - x - y) / y])


def _to_xyz(primaries_xy: tuple[tuple[float, float], ...]) -> Floats:
    # Derived rather than copied, so that equal R, G and B land on the white to the last bit
    # and greys stay neutral; the standard's own four-digit matrix leaves a* and b* near 0.02.
    primaries = np.stack([white_xyz(xy) for xy in primaries_xy], axis=1)
    scale = np.linalg.solve(primaries, white_xyz(D65_XY))
    return np.asarray(primaries * scale)


D65_WHITE = white_xyz(D65_XY)
LINEAR_TO_XYZ = _to_xyz(SRGB_PRIMARIES_XY)
_LINEAR_TO_RATIO = (LINEAR_TO_XYZ / D65_WHITE[:, np.newaxis]).tolist()
XYZ_TO_LINEAR = np.linalg.inv(LINEAR_TO_XYZ)
P3_TO_LINEAR = XYZ_TO_LINEAR @ _to_xyz(P3_PRIMARIES_XY)
"""Linear-light sRGB, unclipped, of linear-light Display P3."""


def srgb_to_linear(rgb: ArrayLike) -> Floats:
    """Return linear-light RGB of gamma-coded sRGB in 0..1 (IEC 61966-2-1).

    Values below 0 mirror those above, so colours outside the gamut survive a round trip.
    """
    coded = np.asarray(rgb, dtype=np.float64)
    size = np.abs(coded)
    linear = np.where(size <= 0.04045, size / 12.92, ((size + 0.055) / 1.055) ** 2.4)
    return np.copysign(linear, coded)


_LINEAR_LEVELS = srgb_to_linear(np.arange(256) / 255).tolist()


def linear_to_srgb(linear: ArrayLike) -> Floats:
    """Return gamma-coded sRGB of linear-light RGB in 0..1, unclipped (IEC 61966-2-1)."""
    light = np.asarray(linear, dtype=np.float64)
    size = np.abs(light)
    coded = np.where(size <= 0.0031308, size * 12.92, 1.055 * size ** (1 / 2.4) - 0.055)
    return np.copysign(coded, light)


def linear_to_xyz(linear: ArrayLike) -> Floats:
    """Return XYZ (D65, white Y = 1) of linear-light sRGB."""
    return np.asarray(np.asarray(linear, dtype=np.float64) @ LINEAR_TO_XYZ.T)


def xyz_to_linear(xyz: ArrayLike) -> Floats:
    """Return linear-light sRGB, unclipped, of XYZ (D65, white Y = 1)."""
    return np.asarray(np.asarray(xyz, dtype=np.float64) @ XYZ_TO_LINEAR.T)


def xyz_to_lab(xyz: ArrayLike, white: Floats = D65_WHITE) -> Floats:
    """Return L*a*b* of XYZ, both relative to `white` (CIE 15)."""
    ratio = np.asarray(xyz, dtype=np.float64) / white
    f = np.where(ratio > LAB_EPSILON, np.cbrt(ratio), (LAB_KAPPA * ratio + 16) / 116)
    fx, fy, fz = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)], axis=-1)


def lab_to_xyz(lab: ArrayLike, white: Floats = D65_WHITE) -> Floats:
    """Return XYZ of L*a*b*, both relative to `white` (CIE 15)."""
    values = np.asarray(lab, dtype=np.float64)
    fy = (values[..., 0] + 16) / 116
    f = np.stack([fy + values[..., 1] / 500, fy, fy - values[..., 2] / 200], axis=-1)
    cube = f**3
    return np.asarray(np.where(cube > LAB_EPSILON, cube, (116 * f - 16) / LAB_KAPPA) * white)


def adaptation_matrix(source: Floats, target: Floats) -> Floats:
    """Return the 3 by 3 matrix from XYZ under the white `source` to XYZ under `target`.

    Linear Bradford adaptation (Lam 1985; ICC.1:2010 annex E). Whites are XYZ with Y = 1.
    """
    gains = (BRADFORD @ target) / (BRADFORD @ source)
    return np.asarray(np.linalg.solve(BRADFORD, gains[:, np.newaxis] * BRADFORD))


def adapt(xyz: ArrayLike, source: Floats, target: Floats) -> Floats:
    """Return XYZ as it would look under the white `target` instead of `source`."""
    matrix = adaptation_matrix(source, target)
    return np.asarray(np.asarray(xyz, dtype=np.float64) @ matrix.T)


def linear_to_lab(linear: ArrayLike) -> Floats:
    """Return L*a*b* of linear-light sRGB."""
    return xyz_to_lab(linear_to_xyz(linear))


def lab_to_linear(lab: ArrayLike) -> Floats:
    """Return linear-light sRGB of L*a*b*, unclipped: out of 0..1 when outside the gamut."""
    return xyz_to_linear(lab_to_xyz(lab))


def srgb_to_lab(rgb: ArrayLike) -> Floats:
    """Return L*a*b* of gamma-coded sRGB in 0..1."""
    return linear_to_lab(srgb_to_linear(rgb))


def lab_to_srgb(lab: ArrayLike) -> Floats:
    """Return gamma-coded sRGB of L*a*b*, unclipped: out of 0..1 when outside the gamut."""
    return linear_to_srgb(lab_to_linear(lab))


def parse_hex(text: str) -> str:
    """Return the canonical '#rrggbb' of a colour typed as '#abc', 'ABC' or 'aabbcc'.

    Raises BadHexColour for anything else.
    """
    found = _HEX.fullmatch(text.strip())
    if found is None:
        raise BadHexColour(f"{text!r} is not a colour; write it like '#7a4b2c'.")
    digits = found[1].lower()
    if len(digits) == 3:
        digits = "".join(digit * 2 for digit in digits)
    return f"#{digits}"


def hex_to_srgb(text: str) -> Floats:
    """Return gamma-coded sRGB in 0..1 of a hex colour; BadHexColour if it is not one."""
    digits = parse_hex(text)[1:]
    return np.array([int(digits[i : i + 2], 16) for i in (0, 2, 4)]) / 255


def srgb_to_hex(rgb: ArrayLike) -> str:
    """Return '#rrggbb' of one gamma-coded sRGB colour, clipped to 0..1."""
    levels = np.rint(np.clip(np.asarray(rgb, dtype=np.float64), 0, 1) * 255).astype(int)
    return "#" + "".join(f"{level:02x}" for level in levels.tolist())


def hex_to_lab(text: str) -> Lab:
    """Return L*a*b* of a hex colour; BadHexColour if it is not one.

    The arithmetic of `srgb_to_lab` in plain floats: for one colour, ten times as fast.
    """
    code = int(parse_hex(text)[1:], 16)
    red, green, blue = (_LINEAR_LEVELS[code >> shift & 255] for shift in (16, 8, 0))
    fx, fy, fz = (
        _lab_f(to_red * red + to_green * green + to_blue * blue)
        for to_red, to_green, to_blue in _LINEAR_TO_RATIO
    )
    # The white of sRGB comes out as 100.00000000000003.
    return Lab(min(116 * fy - 16, 100.0), 500 * (fx - fy), 200 * (fy - fz))


def _lab_f(ratio: float) -> float:
    return math.cbrt(ratio) if ratio > LAB_EPSILON else (LAB_KAPPA * ratio + 16) / 116


def lab_to_hex(lab: Lab) -> str:
    """Return the '#rrggbb' nearest to `lab`, each channel clipped to sRGB; BadLab if it is none."""
    return srgb_to_hex(lab_to_srgb(check_lab(lab)))


def grey_hex(lab: Lab) -> str:
    """Return the neutral grey with the same L*, as '#rrggbb': what a greyscale view shows."""
    return lab_to_hex(Lab(lab.l, 0.0, 0.0))


def as_lab(values: Floats) -> Lab:
    """Return the Lab of one row of an array, as plain floats."""
    light, a, b = values.tolist()
    # The white of sRGB comes out as 100.00000000000003.
    return Lab(min(max(light, 0.0), 100.0), a, b)


def check_lab(lab: Lab) -> Lab:
    """Return `lab` unchanged, or raise BadLab when it is not a colour."""
    if not all(math.isfinite(value) for value in lab):
        raise BadLab(f"{tuple(lab)} is not a colour; L*, a* and b* must be plain numbers.")
    if not 0 <= lab.l <= 100:
        raise BadLab(f"L* is {lab.l:g}; it must be between 0 (black) and 100 (white).")
    if max(abs(lab.a), abs(lab.b)) > MAX_AB:
        raise BadLab(f"a* {lab.a:g} and b* {lab.b:g} must be between -{MAX_AB:g} and {MAX_AB:g}.")
    return lab


def chroma(lab: Lab) -> float:
    """Return C*ab, how far the colour is from grey; 0 for a neutral."""
    return math.hypot(lab.a, lab.b)


def hue_angle(lab: Lab) -> float:
    """Return h_ab in degrees, 0 <= h < 360; 0 for an exact neutral, where hue means nothing."""
    # A tiny negative angle rounds up to 360 itself, hence the second modulo.
    return math.degrees(math.atan2(lab.b, lab.a)) % 360 % 360


def relative_luminance(text: str) -> float:
    """Return the WCAG 2.x relative luminance of a hex colour, 0..1."""
    red, green, blue = srgb_to_linear(hex_to_srgb(text)).tolist()
    return float(0.2126 * red + 0.7152 * green + 0.0722 * blue)


def wcag_contrast(first: str, second: str) -> float:
    """Return the WCAG 2.x contrast ratio of two hex colours, 1..21, unrounded."""
    lighter, darker = sorted(map(relative_luminance, (first, second)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)
