"""A yarn's colour along its length: as far astray as its spread says, in its dye style's manner."""

import numpy as np
import pytest

from palettes.colour.difference import delta_e_2000, delta_e_2000_pairs
from palettes.colour.spaces import Lab, as_lab
from palettes.colour.strand import MANNERS, colour_stitches
from palettes.colour.swatch import TYPICAL_SPREAD, Swatch

MID = Lab(55, 20, -25)


def strays(stitches, lab):
    return delta_e_2000_pairs(stitches, np.broadcast_to(np.array(lab), stitches.shape))


def runs(stitches):
    """Return how many stitches in a row have one colour, in the mean."""
    changes = np.any(np.diff(stitches, axis=0) != 0, axis=-1).sum()
    return len(stitches) / (changes + 1)


def test_every_dye_style_has_its_manner():
    assert MANNERS.keys() == TYPICAL_SPREAD.keys()


@pytest.mark.parametrize("style", MANNERS)
@pytest.mark.parametrize("spread", [1.0, 4.0, 8.0, 15.0])
@pytest.mark.parametrize("lab", [MID, Lab(25, 5, 10), Lab(88, -4, 8)])
def test_strays_as_far_as_its_spread_and_keeps_its_colour(style, spread, lab):
    yarn = Swatch("yarn", lab, spread=spread, dye_style=style)
    stitches = colour_stitches(yarn, 400, seed=1)
    assert strays(stitches, lab).mean() == pytest.approx(spread, rel=0.12)
    assert delta_e_2000(as_lab(stitches.mean(axis=0)), lab) < 0.35 * spread + 0.2
    assert (stitches[:, 0] >= 0).all()
    assert (stitches[:, 0] <= 100).all()


def test_speckles_are_few_and_short_and_variegated_lengths_are_long():
    kinds = {
        style: colour_stitches(Swatch("yarn", MID, spread=8.0, dye_style=style), 600, seed=2)
        for style in ("speckled", "variegated", "tonal")
    }
    still = np.median(kinds["speckled"], axis=0)
    assert np.all(kinds["speckled"] == still, axis=-1).mean() > 0.6
    assert runs(kinds["speckled"]) < runs(kinds["variegated"])
    hues = {style: np.ptp(labs[:, 1:], axis=0).sum() for style, labs in kinds.items()}
    assert hues["tonal"] < hues["variegated"]


@pytest.mark.parametrize("spread", [0.0, 0.4])
def test_what_cannot_be_seen_is_not_drawn(spread):
    stitches = colour_stitches(Swatch("yarn", MID, spread=spread), 30, seed=1)
    assert np.array_equal(stitches, np.tile(MID, (30, 1)))


def test_no_stitches_are_no_stitches():
    assert colour_stitches(Swatch("yarn", MID, spread=9.0), 0, seed=1).shape == (0, 3)


def test_a_flat_photo_makes_a_flat_yarn():
    """Nothing to follow: better calm than invented."""
    yarn = Swatch("yarn", MID, spread=6.0)
    stitches = colour_stitches(yarn, 50, seed=1, real=np.full((20, 20, 3), 0.25))
    assert strays(stitches, MID).max() < 0.01
