"""Colours and pictures in grey and with a colour vision deficiency."""

import numpy as np
import pytest

from palettes.colour.difference import delta_e_2000
from palettes.colour.sight import SIGHTS, Sight, as_seen, picture_as_seen
from palettes.colour.spaces import Lab, as_lab, lab_to_linear, linear_to_lab
from palettes.colour.swatch import Fabric, Swatch
from palettes.colour.textures import SURFACES, Texture, chart_of, knit
from palettes.colour.vision import Deficiency

LABS = [Lab(30, 10, -30), Lab(80, -5, 25), Lab(55, 45, 20), Lab(0, 0, 0), Lab(100, 0, 0)]


def test_every_deficiency_can_be_looked_with():
    assert [sight.value for sight in SIGHTS[2:]] == [kind.value for kind in Deficiency]


@pytest.mark.parametrize("sight", SIGHTS)
@pytest.mark.parametrize("lab", LABS)
def test_a_picture_is_seen_as_its_colours_are(sight, lab):
    picture = np.clip(lab_to_linear(np.array([[lab]])), 0, 1)
    seen = as_lab(linear_to_lab(picture_as_seen(picture, sight))[0, 0])
    assert delta_e_2000(seen, as_seen(lab, sight)) < 1e-4


def test_grey_keeps_lightness_and_loses_hue():
    grey = linear_to_lab(picture_as_seen(lab_to_linear(np.array([LABS])), Sight.GREY))
    assert grey[0, :, 0] == pytest.approx([30, 80, 55, 0, 100], abs=1e-6)
    assert grey[..., 1:] == pytest.approx(np.zeros((1, 5, 2)), abs=1e-6)


@pytest.mark.parametrize("texture", [t for t in Texture if not t.startswith("three")])
def test_a_pair_of_equal_lightness_vanishes_in_grey(texture):
    """The greyscale photo of the trade: hue alone draws no pattern in it."""
    chart = chart_of(texture, rows=12, stitches=12)
    red, green = Swatch("red", Lab(55, 40, 10)), Swatch("green", Lab(55, -40, 10))
    pair, single = (
        knit(chart, yarns, Fabric(), surface=SURFACES[texture])
        for yarns in ((red, green), (red, red))
    )
    assert not np.allclose(pair, single, atol=0.05)
    grey = [picture_as_seen(picture, Sight.GREY) for picture in (pair, single)]
    assert grey[0] == pytest.approx(grey[1], abs=1e-9)
