"""One yarn in a photo: mean in linear light, spread at the scale of a stitch, dye style."""

import numpy as np
import pytest

from palettes.colour.difference import delta_e_2000
from palettes.colour.light import Box, ClippedPhoto
from palettes.colour.measure import measure_yarn
from palettes.colour.spaces import Lab, linear_to_lab
from tests.core.photo_scenes import flat, yarn

ALL = Box(0, 0, 1, 1)


def test_an_even_area_is_measured_exactly():
    measured = measure_yarn(flat((52, 18, -24), 100, 100), ALL)
    assert measured.lab == pytest.approx((52, 18, -24), abs=1e-6)
    assert measured.spread == pytest.approx(0, abs=1e-6)


def test_the_mean_is_taken_in_linear_light():
    """A fine check of black and white reads as half the light, not as half the lightness."""
    half = np.indices((80, 80)).sum(axis=0) % 2
    check = np.repeat(half[..., np.newaxis], 3, axis=2) * np.float64(0.9)
    measured = measure_yarn(check, ALL)
    assert measured.lab.l == pytest.approx(linear_to_lab(np.full(3, 0.45))[0], abs=1e-6)
    assert measured.lab.l > 70


@pytest.mark.parametrize("style", ["solid", "semi-solid", "tonal", "speckled", "variegated"])
@pytest.mark.parametrize("lab", [(62, 8, 18), (38, 5, -28), (70, -14, 6)])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_rendered_yarns_are_given_their_dye_style(style, lab, seed):
    assert measure_yarn(yarn(lab, style=style, seed=seed), ALL).dye_style == style


def test_shadow_between_plies_is_no_spread():
    assert measure_yarn(yarn((60, 5, 10)), ALL).spread < 1.0


def test_more_speckles_spread_more():
    calm = measure_yarn(yarn((70, 0, 8)), ALL).spread
    busy = measure_yarn(yarn((70, 0, 8), style="speckled"), ALL).spread
    assert busy > calm + 2


def test_only_the_marked_yarn_counts():
    photo = np.hstack([flat((30, 0, -30), 60, 60), flat((80, 10, 40), 60, 60)])
    right = measure_yarn(photo, Box(0.55, 0.1, 0.95, 0.9))
    assert delta_e_2000(right.lab, Lab(80, 10, 40)) < 0.01


def test_burnt_out_yarn_is_refused():
    with pytest.raises(ClippedPhoto, match="of yarn 1 is burnt out"):
        measure_yarn(np.ones((40, 40, 3)), ALL)
