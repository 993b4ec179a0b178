"""How a striped fabric blends in the eye as one steps back: S-CIELAB in closed form.

The stripe alternates two yarns, two rows of each: one garter ridge, and the narrowest stripe
that leaves both yarns waiting at the same edge (common practice). S-CIELAB separates the picture
into a lightness, a red-green and a blue-yellow signal and blurs each by a sum of Gaussians whose
widths are fixed in degrees of sight. A stripe repeats for ever and a Gaussian's transform is
known, so the blurred colour at the middle of a stripe needs no picture: only one gain per
signal and distance.

Source: X. Zhang & B. A. Wandell (1996) SID Digest 27:731-734; (1997) J. SID 5(1):61-63; numbers
of the authors' own code, see fixtures/reference/scielab.json.
"""

import math
from functools import lru_cache

import numpy as np

from palettes.colour.planes import turn
from palettes.colour.spaces import D65_WHITE, AnyFloats, Floats
from palettes.colour.swatch import Fabric

ROWS_PER_STRIPE = 2

# The code form. A rounded copy with the wrong sign in row 2, column 3 circulates.
XYZ_TO_OPPONENT = np.array(
    [
        [0.2787336, 0.7218031, -0.1065520],
        [-0.4487736, 0.2898056, 0.0771569],
        [0.0859513, -0.5899859, 0.5011089],
    ]
)

# (weight, full width at half maximum in degrees) of each Gaussian; each signal's weights sum to 1.
LIGHTNESS_KERNEL = ((1.00327, 0.05), (0.114416, 0.225), (-0.117686, 7.0))
RED_GREEN_KERNEL = ((0.616725, 0.0685), (0.383275, 0.826))
BLUE_YELLOW_KERNEL = ((0.567885, 0.092), (0.432115, 0.6451))
KERNELS = (LIGHTNESS_KERNEL, RED_GREEN_KERNEL, BLUE_YELLOW_KERNEL)

_FWHM_TO_SIGMA = 1 / (2 * math.sqrt(2 * math.log(2)))


def stripe_gains(fabric: Fabric, distances_m: tuple[float, ...]) -> Floats:
    """Return how much of each signal's contrast is left at mid-stripe: shape (distances, 3).

    Columns are lightness, red-green and blue-yellow; 1 is all of it, at distance 0, and 0 none,
    far away. Where the published filter sharpens lightness (by up to 12 % at middling widths)
    all of it counts as left: our choice, so that no distance shows more than there is.
    """
    return np.minimum(filter_gains(fabric, distances_m), 1.0)


def filter_gains(fabric: Fabric, distances_m: tuple[float, ...]) -> Floats:
    """Return the gains of the published filter itself, sharpening included: (distances, 3)."""
    return _filter_gains(fabric.row_height_mm * ROWS_PER_STRIPE, distances_m)


def texture_left(fabric: Fabric, distances_m: tuple[float, ...]) -> Floats:
    """Return the share of a yarn's own stitch-to-stitch spread still seen: shape (distances,).

    The yarn is taken as stitches that each have a colour of their own, independent of their
    neighbours, seen through the lightness filter, which keeps fine texture the longest.
    """
    return _texture_left(fabric.stitch_width_mm, fabric.row_height_mm, distances_m)


def blend(light: AnyFloats, fabric: Fabric, distances_m: tuple[float, ...]) -> AnyFloats:
    """Return both stripes' middles as seen at each distance: (3, 2, n) -> (3, 2, distances n).

    The input is the light of both yarns of n pairs, see planes.py. A component may come out
    under 0: the signals fade at different rates, which can ask a vivid stripe for less than none.
    """
    matrix = _blend_matrix(fabric.row_height_mm * ROWS_PER_STRIPE, distances_m)
    return turn(matrix, light.reshape(6, -1)).reshape(3, 2, -1)


@lru_cache(maxsize=64)
def _blend_matrix(stripe_mm: float, distances_m: tuple[float, ...]) -> Floats:
    """Return what makes both blended lights of both yarns' lights: (3 2 distances, 3 2).

    Each stripe keeps half of what both have in common, and of half their difference what the
    distance leaves; all of that is linear, so one matrix does it for every distance.
    """
    to_opponent = XYZ_TO_OPPONENT * D65_WHITE
    gains = np.minimum(_filter_gains(stripe_mm, distances_m), 1.0)
    left = np.linalg.inv(to_opponent) @ (gains[:, :, np.newaxis] * to_opponent)
    own, other = (np.eye(3) + left) / 2, (np.eye(3) - left) / 2
    # Axes: blended stripe, yarn, distance, component out, component in.
    both = np.array([[own, other], [other, own]])
    matrix = both.transpose(3, 0, 2, 4, 1).reshape(-1, 6)
    matrix.flags.writeable = False
    return matrix


def _degrees_per_mm(distance_m: float) -> float:
    """Return the visual angle of one millimetre, in degrees; infinite at distance 0."""
    if distance_m <= 0:
        return math.inf
    return math.degrees(1 / (1000 * distance_m))


@lru_cache(maxsize=64)
def _filter_gains(stripe_mm: float, distances_m: tuple[float, ...]) -> Floats:
    gains = np.array(
        [
            [
                sum(
                    weight * blurred_stripe(fwhm * _FWHM_TO_SIGMA / width)
                    for weight, fwhm in kernel
                )
                / sum(weight for weight, _ in kernel)
                for kernel in KERNELS
            ]
            for width in (stripe_mm * _degrees_per_mm(distance) for distance in distances_m)
        ]
    )
    gains.flags.writeable = False
    return gains


def blurred_stripe(sigma: float) -> float:
    """Return the height at mid-stripe of a +1/-1 square wave after a Gaussian blur.

    `sigma` is the blur's standard deviation in stripe widths. Two series say the same thing
    (Poisson summation); each is used where a handful of terms are exact to the last bit.
    """
    if sigma == 0:
        return 1.0
    if sigma < 0.3:
        return math.fsum(
            (-1) ** n * 0.5 * (_erf_at(n + 0.5, sigma) - _erf_at(n - 0.5, sigma))
            for n in range(-2, 3)
        )
    # The Fourier series of the square wave times the Gaussian's own transform.
    return (4 / math.pi) * math.fsum(
        (-1) ** ((k - 1) // 2) / k * math.exp(-((math.pi * k * sigma) ** 2) / 2)
        for k in (1, 3, 5, 7, 9)
    )


def _erf_at(x: float, sigma: float) -> float:
    return math.erf(x / (sigma * math.sqrt(2)))


@lru_cache(maxsize=64)
def _texture_left(width_mm: float, height_mm: float, distances_m: tuple[float, ...]) -> Floats:
    shares = np.array([_noise_left(width_mm, height_mm, distance) for distance in distances_m])
    shares.flags.writeable = False
    return shares


def _noise_left(width_mm: float, height_mm: float, distance_m: float) -> float:
    """Return the standard deviation left of stitch noise with deviation 1, averaged over place."""
    per_mm = _degrees_per_mm(distance_m)
    variance = 0.0
    for one_weight, one_fwhm in LIGHTNESS_KERNEL:
        for two_weight, two_fwhm in LIGHTNESS_KERNEL:
            sigma = math.hypot(one_fwhm, two_fwhm) * _FWHM_TO_SIGMA / per_mm
            cell = _same_cell(sigma / width_mm) * _same_cell(sigma / height_mm)
            variance += one_weight * two_weight * cell
    # Cancellation may end a hair under 0; the filter's sharpening is not counted here either.
    total = sum(weight for weight, _ in LIGHTNESS_KERNEL)
    return min(math.sqrt(max(variance, 0.0)) / total, 1.0)


def _same_cell(sigma: float) -> float:
    """Return the chance that a Gaussian step of `sigma` cell widths ends in the cell it began in.

    The mean of the triangle 1 - |x| under the Gaussian: what blurring leaves of a cell's variance.
    """
    if sigma == 0:
        return 1.0
    stay = math.erf(1 / (sigma * math.sqrt(2)))
    return stay + sigma * math.sqrt(2 / math.pi) * math.expm1(-1 / (2 * sigma**2))
