"""The closed form of the stripe filter against the published numbers and a plain convolution."""

from itertools import pairwise

import numpy as np
import pytest

from palettes.colour import fabric as model
from palettes.colour.fabric import blurred_stripe, filter_gains, stripe_gains, texture_left
from palettes.colour.planes import lab_to_light, light_to_lab
from palettes.colour.spaces import Lab, srgb_to_lab
from palettes.colour.swatch import Fabric
from tests import reference

SHAWL = Fabric()
DISTANCES = (0.25, 0.4, 0.7, 1.5, 3.0, 6.0, 10.0)


def stripe_degrees(fabric, distance_m):
    width_mm = fabric.row_height_mm * model.ROWS_PER_STRIPE
    return np.degrees(width_mm / (1000 * distance_m))


def convolve_at_mid_stripe(kernel, width, samples=400):
    """Blur a drawn +1/-1 stripe by a drawn kernel and read the middle of a +1 stripe.

    Slow, blunt and independent of the closed form: `samples` to a stripe, kernels cut at 6 sigma.
    """
    total, weights = 0.0, 0.0
    for weight, fwhm in kernel:
        sigma = fwhm / (2 * np.sqrt(2 * np.log(2)))
        step = min(width / samples, sigma / 40)
        x = np.arange(-6 * sigma, 6 * sigma + step / 2, step)
        gauss = np.exp(-(x**2) / (2 * sigma**2))
        stripe = np.where(np.floor((x + width / 2) / width) % 2 == 0, 1.0, -1.0)
        total += weight * (gauss * stripe).sum() / gauss.sum()
        weights += weight
    return total / weights


def test_numbers_are_the_authors_own():
    """Zhang & Wandell's code form; the rounded matrix in circulation has a wrong sign."""
    published = reference.document("scielab.json")
    assert published["xyz_to_opponent"]["matrix_code"] == model.XYZ_TO_OPPONENT.tolist()
    for name, kernel in zip(("luminance", "red_green", "blue_yellow"), model.KERNELS, strict=True):
        code = published["filters_code_form"][name]
        assert list(zip(code["weights"], code["fwhm"], strict=True)) == list(kernel)


def test_widths_are_full_widths_at_half_maximum():
    """The paper's table gives spreads for exp(-x^2 / spread^2): the same Gaussians within 6 %."""
    published = reference.document("scielab.json")["filters_paper_form"]
    for name, kernel in zip(("luminance", "red_green", "blue_yellow"), model.KERNELS, strict=True):
        for (_, fwhm), spread in zip(kernel, published[name]["spreads"], strict=True):
            sigma = fwhm * model._FWHM_TO_SIGMA
            assert spread / np.sqrt(2) == pytest.approx(sigma, rel=0.06)


@pytest.mark.parametrize("distance", DISTANCES)
def test_closed_form_equals_a_direct_convolution(distance):
    width = stripe_degrees(SHAWL, distance)
    expected = [convolve_at_mid_stripe(kernel, width) for kernel in model.KERNELS]
    assert filter_gains(SHAWL, (distance,))[0] == pytest.approx(expected, abs=2e-3)


def test_both_series_of_the_blurred_stripe_meet_where_they_change_over():
    below, above = blurred_stripe(0.3 - 1e-12), blurred_stripe(0.3)
    assert below == pytest.approx(above, abs=1e-10)


def test_blur_only_ever_flattens_the_stripe():
    heights = [blurred_stripe(sigma) for sigma in np.linspace(0, 4, 200)]
    assert heights[0] == 1
    assert all(later <= earlier for earlier, later in pairwise(heights))
    assert heights[-1] == pytest.approx(0, abs=1e-12)


def test_all_contrast_is_there_at_no_distance_and_none_far_away():
    near, far = stripe_gains(SHAWL, (0.0, 300.0))
    assert near == pytest.approx([1, 1, 1], abs=1e-12)
    assert far == pytest.approx([0, 0, 0], abs=1e-9)


def test_hue_signals_fade_before_lightness():
    lightness, red_green, blue_yellow = stripe_gains(SHAWL, (3.0,))[0]
    assert lightness > red_green > blue_yellow


def test_gains_never_rise_with_distance_or_pass_one():
    gains = stripe_gains(SHAWL, tuple(np.geomspace(0.01, 50, 60).tolist()))
    assert gains.max() <= 1
    # The red-green and blue-yellow filters have a wide part, so they fall in two steps.
    assert (np.diff(gains, axis=0) < 1e-9).all()


def test_no_blend_is_darker_than_black():
    """Hue and lightness fade apart, which would ask a vivid stripe for less than no light."""
    corners = srgb_to_lab([[r, g, b] for r in (0, 1) for g in (0, 1) for b in (0, 1)])
    every_two = np.stack([np.repeat(corners, 8, axis=0), np.tile(corners, (8, 1))])
    light = lab_to_light(every_two.T.reshape(3, -1)).reshape(3, 64, 2).swapaxes(1, 2)
    blended = model.blend(light, SHAWL, DISTANCES)
    assert blended.shape == (3, 2, len(DISTANCES) * 64)
    assert blended.min() < 0
    lightness, *_ = light_to_lab(blended.reshape(3, -1))
    assert lightness.min() >= -1e-9


def test_taller_rows_carry_further():
    fine, bulky = Fabric(30, 60), Fabric(10, 14)
    assert (stripe_gains(bulky, (3.0,)) >= stripe_gains(fine, (3.0,))).all()
    assert stripe_gains(bulky, (6.0,))[0, 0] > 2 * stripe_gains(fine, (6.0,))[0, 0]


def test_without_distance_the_stripe_shows_the_plain_colours():
    first, second = Lab(40, 30, -20), Lab(70, -10, 40)
    light = lab_to_light(np.array([first, second], dtype=np.float64).T)[..., np.newaxis]
    blended = model.blend(light, SHAWL, (0.0,)).reshape(3, 2)
    near, far = light_to_lab(blended).T
    assert near == pytest.approx(first, abs=1e-9)
    assert far == pytest.approx(second, abs=1e-9)


@pytest.mark.parametrize("distance", [0.4, 0.7, 3.0, 8.0])
def test_stitch_texture_fades_as_a_drawn_one_does(distance):
    """Random stitches drawn, blurred by the lightness filter and measured."""
    per_mm = np.degrees(1 / (1000 * distance))
    fine = 16
    cells = np.random.default_rng(8).normal(size=(96, 96))
    drawn = np.kron(cells, np.ones((fine, fine)))
    height, width = (SHAWL.row_height_mm * per_mm, SHAWL.stitch_width_mm * per_mm)
    down = np.fft.fftfreq(drawn.shape[0], d=height / fine)[:, np.newaxis]
    across = np.fft.fftfreq(drawn.shape[1], d=width / fine)[np.newaxis]
    squared = down**2 + across**2
    response = sum(
        weight * np.exp(-2 * (np.pi * fwhm * model._FWHM_TO_SIGMA) ** 2 * squared)
        for weight, fwhm in model.LIGHTNESS_KERNEL
    )
    blurred = np.fft.ifft2(np.fft.fft2(drawn) * response).real
    expected = min(blurred.std() / drawn.std(), 1.0)
    assert texture_left(SHAWL, (distance,))[0] == pytest.approx(expected, rel=0.04)


def test_texture_is_whole_at_no_distance_and_gone_far_away():
    near, far = texture_left(SHAWL, (0.0, 2000.0))
    assert near == 1
    assert far < 0.01
