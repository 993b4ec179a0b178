"""CIE L*a*b* and light as planes, for arithmetic on many colours at once.

A plane holds one component of every colour: arrays are (3, n) or (3, …), which numpy works
through several times faster than rows of three. Light is XYZ divided by the white's, so that
white is (1, 1, 1) and a grey has three equal parts. Results have the precision of the input.
Everything is D65, 2 degree observer, as in spaces.py.
"""

import numpy as np

from palettes.colour.spaces import (
    D65_WHITE,
    LAB_EPSILON,
    LAB_KAPPA,
    LINEAR_TO_XYZ,
    XYZ_TO_LINEAR,
    AnyFloats,
    Floats,
)

LINEAR_TO_LIGHT = LINEAR_TO_XYZ / D65_WHITE[:, np.newaxis]
LIGHT_TO_LINEAR = XYZ_TO_LINEAR * D65_WHITE

# CIE 15: f of each light from L*a*b* with 16 added to L*, and back.
_LAB_TO_F = np.array([[1 / 116, 1 / 500, 0], [1 / 116, 0, 0], [1 / 116, 0, -1 / 200]])
_F_TO_LAB = np.array([[0, 116, 0], [500, -500, 0], [0, 200, -200]], dtype=np.float64)
_SLOPE = LAB_KAPPA / 116
# Below, f is split in its curved and its straight part, which overlap by this much of L*.
_OVERLAP = 16 + 116 * _SLOPE * LAB_EPSILON


def lab_to_light(lab: AnyFloats) -> AnyFloats:
    """Return the light of L*a*b*: (3, n) -> (3, n)."""
    shift = np.array([[16], [0], [0]], dtype=lab.dtype)
    f = turn(_LAB_TO_F, lab + shift)
    cube = f * f * f
    return np.where(cube > LAB_EPSILON, cube, (116 * f - 16) / LAB_KAPPA)


def light_to_lab(light: AnyFloats) -> AnyFloats:
    """Return L*a*b* of light: (3, n) -> (3, n); less than no light counts as none."""
    f = np.cbrt(np.maximum(light, LAB_EPSILON))
    f += _SLOPE * np.maximum(np.minimum(light, LAB_EPSILON), 0)
    lab = turn(_F_TO_LAB, f)
    lab[0] -= _OVERLAP
    return lab


def turn(matrix: Floats, planes: AnyFloats) -> AnyFloats:
    """Return the matrix times each colour, as precise as the colours: (m, 3), (3, n) -> (m, n)."""
    return matrix.astype(planes.dtype, copy=False) @ planes
