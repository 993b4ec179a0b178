"""Pictures of yarns knitted together, and how they blend at a distance."""

import numpy as np
import pytest

from palettes.colour.difference import delta_e_2000, delta_e_2000_pairs
from palettes.colour.errors import TooFewYarns
from palettes.colour.fabric import stripe_gains
from palettes.colour.spaces import Lab, lab_to_linear, linear_to_lab, linear_to_xyz
from palettes.colour.swatch import Fabric
from palettes.colour.textures import (
    CHARTS,
    ROW_PIXELS,
    Texture,
    chart_of,
    knit,
    mean_colour,
    seen_from,
    stitch_pixels,
    yarns_needed,
)

FABRIC = Fabric()
LABS = [(30, 10, -30), (80, -5, 25), (55, 45, 20)]
CALM = [0.0, 0.0, 0.0]


@pytest.mark.parametrize("texture", list(Texture))
def test_every_repeat_is_a_rectangle_that_uses_all_its_yarns(texture):
    rows = CHARTS[texture]
    assert len({len(row) for row in rows}) == 1
    assert {int(digit) for row in rows for digit in row} == set(range(yarns_needed(texture)))


@pytest.mark.parametrize("texture", list(Texture))
def test_a_picture_has_the_size_of_its_chart_and_stays_in_gamut(texture):
    chart = chart_of(texture, rows=24, stitches=24)
    picture = knit(chart, LABS, [4.0, 12.0, 0.0], FABRIC)
    assert picture.shape == (len(chart) * ROW_PIXELS, chart.shape[1] * stitch_pixels(FABRIC), 3)
    assert picture.min() >= 0
    assert picture.max() <= 1


def test_a_calm_yarn_alone_keeps_its_colour_on_average():
    chart = np.zeros((12, 12), dtype=int)
    assert delta_e_2000(mean_colour(knit(chart, LABS, CALM, FABRIC)), Lab(*LABS[0])) < 0.01


@pytest.mark.parametrize("spread", [2.0, 6.0])
def test_drawn_spread_is_the_spread_that_was_asked_for(spread):
    """Near grey, where CIEDE2000 and plain distance differ least."""
    chart = np.zeros((60, 60), dtype=int)
    picture = knit(chart, [(50, 0, 0)], [spread], FABRIC)
    width = stitch_pixels(FABRIC)
    cells = picture.reshape(60, ROW_PIXELS, 60, width, 3).mean(axis=(1, 3))
    labs = linear_to_lab(cells).reshape(-1, 3)
    strays = delta_e_2000_pairs(labs, np.broadcast_to([50.0, 0, 0], labs.shape))
    assert strays.mean() == pytest.approx(spread, rel=0.2)


def test_the_same_seed_gives_the_same_stitches():
    chart = chart_of(Texture.MOSAIC, rows=12, stitches=16)
    assert np.array_equal(
        knit(chart, LABS, [5.0, 5.0], FABRIC, seed=3), knit(chart, LABS, [5.0, 5.0], FABRIC, seed=3)
    )


def test_too_few_yarns_are_refused():
    with pytest.raises(TooFewYarns, match="takes 3 yarns; there are 2"):
        knit(chart_of(Texture.THREE_RIDGES, rows=6, stitches=2), LABS[:2], CALM[:2], FABRIC)


@pytest.mark.parametrize("distance", [0.4, 0.7, 3.0, 8.0])
def test_blurred_stripes_agree_with_the_closed_form(distance):
    """Plain stripes two rows tall, against the lightness gain that grades a pair."""
    rows = np.repeat(np.tile([0, 0, 1, 1], 40), 24)
    whole = lab_to_linear(np.array(LABS, float))
    plain = whole[rows][:, np.newaxis].repeat(4, axis=1)
    fabric = Fabric(rows_per_10cm=44.0 * 24 / ROW_PIXELS)  # so that 24 pixels are one row of 44
    light = linear_to_xyz(seen_from(plain, fabric, distance))[..., 1]
    left = light[71:73].mean() - light[23:25].mean()
    left /= np.subtract(*linear_to_xyz(whole[[1, 0]])[:, 1])
    assert left == pytest.approx(stripe_gains(FABRIC, (distance,))[0, 0], abs=0.02)


def test_hue_fades_before_lightness():
    """A pair equal in lightness loses more of its difference than a pair equal in hue."""
    left = []
    for labs in ([(50, 30, 0), (50, -30, 0)], [(35, 0, 0), (65, 0, 0)]):
        picture = knit(chart_of(Texture.RIDGES, rows=24, stitches=12), labs, CALM, FABRIC)
        spans = [
            np.ptp(linear_to_lab(p).mean(axis=1), axis=0)
            for p in (picture, seen_from(picture, FABRIC, 3.0))
        ]
        left.append(np.linalg.norm(spans[1]) / np.linalg.norm(spans[0]))
    assert left[0] < 0.8 * left[1]


def test_far_away_everything_blends_to_one_colour():
    """Light mixes as light; the hue is the mean on a* and b*."""
    picture = knit(chart_of(Texture.RIB, rows=24, stitches=24), LABS, CALM, FABRIC)
    far = seen_from(picture, FABRIC, 60.0)
    assert np.ptp(far, axis=(0, 1)) == pytest.approx([0, 0, 0], abs=0.01)
    assert mean_colour(far).l == pytest.approx(mean_colour(picture).l, abs=0.1)
    halfway = linear_to_lab(picture)[..., 1:].mean(axis=(0, 1))
    assert mean_colour(far)[1:] == pytest.approx(tuple(halfway), abs=0.1)


def test_in_hand_means_unblurred_at_no_distance():
    picture = knit(chart_of(Texture.RIDGES, rows=8, stitches=8), LABS, CALM, FABRIC)
    assert np.array_equal(seen_from(picture, FABRIC, 0), picture)
