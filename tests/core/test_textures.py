"""Pictures of yarns knitted together, and how they blend at a distance."""

import numpy as np
import pytest

from palettes.colour.difference import delta_e_2000, delta_e_2000_pairs
from palettes.colour.errors import TooFewYarns
from palettes.colour.fabric import stripe_gains
from palettes.colour.spaces import Lab, lab_to_linear, linear_to_lab, linear_to_xyz
from palettes.colour.swatch import Fabric, Swatch
from palettes.colour.textures import (
    CHARTS,
    ROW_PIXELS,
    SURFACES,
    Surface,
    Texture,
    chart_of,
    knit,
    mean_colour,
    seen_from,
    seen_from_each,
    stitch_pixels,
    yarns_needed,
)

FABRIC = Fabric()
LABS = [(30, 10, -30), (80, -5, 25), (55, 45, 20)]


def yarns(labs, spreads=(0.0, 0.0, 0.0)):
    """Return solid yarns of these colours, each straying by its spread."""
    return [
        Swatch(f"yarn {n}", Lab(*lab), spread=spread)
        for n, (lab, spread) in enumerate(zip(labs, spreads, strict=False))
    ]


@pytest.mark.parametrize("texture", list(Texture))
def test_every_repeat_is_a_rectangle_that_uses_all_its_yarns(texture):
    rows = CHARTS[texture]
    assert len({len(row) for row in rows}) == 1
    assert {int(digit) for row in rows for digit in row} == set(range(yarns_needed(texture)))


@pytest.mark.parametrize("texture", list(Texture))
def test_a_picture_has_the_size_of_its_chart_and_stays_in_gamut(texture):
    chart = chart_of(texture, rows=24, stitches=24)
    picture = knit(chart, yarns(LABS, [4.0, 12.0, 0.0]), FABRIC, surface=SURFACES[texture])
    assert picture.shape == (len(chart) * ROW_PIXELS, chart.shape[1] * stitch_pixels(FABRIC), 3)
    assert picture.min() >= 0
    assert picture.max() <= 1


def test_a_calm_yarn_alone_keeps_its_colour_on_average():
    chart = np.zeros((12, 12), dtype=int)
    assert delta_e_2000(mean_colour(knit(chart, yarns(LABS), FABRIC)), Lab(*LABS[0])) < 0.01


@pytest.mark.parametrize("spread", [2.0, 6.0])
def test_drawn_spread_is_the_spread_that_was_asked_for(spread):
    """Near grey, where CIEDE2000 and plain distance differ least."""
    chart = np.zeros((60, 60), dtype=int)
    picture = knit(chart, yarns([(50, 0, 0)], [spread]), FABRIC)
    width = stitch_pixels(FABRIC)
    cells = picture.reshape(60, ROW_PIXELS, 60, width, 3).mean(axis=(1, 3))
    labs = linear_to_lab(cells).reshape(-1, 3)
    strays = delta_e_2000_pairs(labs, np.broadcast_to([50.0, 0, 0], labs.shape))
    assert strays.mean() == pytest.approx(spread, rel=0.2)


def test_the_same_seed_gives_the_same_stitches():
    chart = chart_of(Texture.MOSAIC, rows=12, stitches=16)
    first, second = (knit(chart, yarns(LABS, [5, 5, 5]), FABRIC, seed=3) for _ in range(2))
    assert np.array_equal(first, second)


def test_too_few_yarns_are_refused():
    with pytest.raises(TooFewYarns, match="takes 3 yarns; there are 2"):
        knit(chart_of(Texture.THREE_RIDGES, rows=6, stitches=2), yarns(LABS[:2]), FABRIC)


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
        picture = knit(chart_of(Texture.RIDGES, rows=24, stitches=12), yarns(labs), FABRIC)
        spans = [
            np.ptp(linear_to_lab(p).mean(axis=1), axis=0)
            for p in (picture, seen_from(picture, FABRIC, 3.0))
        ]
        left.append(np.linalg.norm(spans[1]) / np.linalg.norm(spans[0]))
    assert left[0] < 0.8 * left[1]


def test_far_away_everything_blends_to_one_colour():
    """Light mixes as light; the hue is the mean on a* and b*."""
    picture = knit(chart_of(Texture.RIB, rows=24, stitches=24), yarns(LABS), FABRIC)
    far = seen_from(picture, FABRIC, 60.0)
    assert np.ptp(far, axis=(0, 1)) == pytest.approx([0, 0, 0], abs=0.01)
    assert mean_colour(far).l == pytest.approx(mean_colour(picture).l, abs=0.1)
    halfway = linear_to_lab(picture)[..., 1:].mean(axis=(0, 1))
    assert mean_colour(far)[1:] == pytest.approx(tuple(halfway), abs=0.1)


def test_in_hand_means_unblurred_at_no_distance():
    picture = knit(chart_of(Texture.RIDGES, rows=8, stitches=8), yarns(LABS), FABRIC)
    assert np.array_equal(seen_from(picture, FABRIC, 0), picture)


def test_one_look_from_each_distance_is_the_same_as_one_at_a_time():
    picture = knit(chart_of(Texture.MOSAIC, rows=12, stitches=16), yarns(LABS), FABRIC)
    together = seen_from_each(picture, FABRIC, (0.0, 0.4, 3.0))
    for distance, seen in zip((0.0, 0.4, 3.0), together, strict=True):
        assert np.array_equal(seen, seen_from(picture, FABRIC, distance))


@pytest.mark.parametrize("texture", list(Texture))
def test_the_farther_away_the_less_is_left(texture):
    chart = chart_of(texture, rows=24, stitches=24)
    picture = knit(chart, yarns(LABS), FABRIC, surface=SURFACES[texture])
    left = [
        seen.std(axis=(0, 1)).sum() for seen in seen_from_each(picture, FABRIC, (0.4, 0.7, 3, 30))
    ]
    assert left == sorted(left, reverse=True)
    assert left[-1] < 0.15 * left[0]


@pytest.mark.parametrize("texture", list(Texture))
def test_far_away_a_texture_is_the_mean_of_its_yarns(texture):
    """Each yarn weighs as many stitches as it has; light mixes as light."""
    chart = chart_of(texture, rows=24, stitches=24)
    picture = knit(chart, yarns(LABS), FABRIC, surface=SURFACES[texture])
    shares = np.bincount(chart.ravel(), minlength=3) / chart.size
    light = linear_to_xyz(np.clip(lab_to_linear(np.array(LABS, float)), 0, 1))[:, 1] @ shares
    far = linear_to_xyz(seen_from(picture, FABRIC, 60.0))[..., 1]
    assert far.mean() == pytest.approx(light, abs=0.01)
    assert np.ptp(far) < 0.01


def test_a_real_texture_is_followed_stitch_by_stitch():
    """A photo whose left half is lighter makes the yarn's stitches lighter and darker in runs."""
    real = np.full((20, 20, 3), 0.2)
    real[:, :10] = 0.3
    busy = yarns([(50, 0, 0)], [6.0])
    chart = np.zeros((20, 20), dtype=int)
    picture = knit(chart, busy, FABRIC, real={0: real})
    width = stitch_pixels(FABRIC)
    cells = picture.reshape(20, ROW_PIXELS, 20, width, 3).mean(axis=(1, 3))[..., 0]
    left, right = cells[:, :10], cells[:, 10:]
    assert abs(left.mean() - right.mean()) > 0.05
    assert max(left.std(), right.std()) < 0.01


def test_knit_stitches_point_down_and_garter_rows_run_straight():
    """The edge between two yarns is a zigzag in stockinette and a line in garter stitch."""
    chart = chart_of(Texture.RIDGES, rows=4, stitches=4)
    black_and_white = yarns([(0, 0, 0), (100, 0, 0)])
    for surface, is_straight in ((Surface.GARTER, True), (Surface.STOCKINETTE, False)):
        rows = knit(chart, black_and_white, FABRIC, surface=surface)[..., 0] > 0.1
        assert np.all(rows == rows[:, :1]) == is_straight
