import numpy as np
import pytest

from palettes.colour import contrast
from palettes.colour.contrast import Grade, compare, compare_all, grade_of
from palettes.colour.difference import delta_e_2000
from palettes.colour.ladder import GREY_STEP
from palettes.colour.spaces import Lab
from palettes.colour.stripes import as_arrays, hide, pair_texture, see_pairs
from palettes.colour.swatch import TYPICAL_SPREAD, Fabric, Swatch

SHAWL = Fabric()


def yarn(l, a=0.0, b=0.0, spread=0.0, **more):  # noqa: E741
    return Swatch("yarn", Lab(l, a, b), spread, **more)


def fading_distance(first, second, gauge) -> float:
    distance = compare(first, second, gauge).fades_at_m
    assert distance is not None
    return distance


@pytest.mark.parametrize(
    ("at_arm", "across", "grade"),
    [
        (18, 18, Grade.STRONG),
        (30, 17.99, Grade.WORKABLE),
        (17.99, 30, Grade.WORKABLE),
        (9, 9, Grade.WORKABLE),
        (9, 8.99, Grade.CLOSE),
        (4, 0, Grade.CLOSE),
        (3.99, 3.99, Grade.LOST),
        (0, 0, Grade.LOST),
    ],
)
def test_grades_follow_from_what_is_left(at_arm, across, grade):
    assert grade_of(at_arm, across) is grade


@pytest.mark.parametrize(
    ("first", "second", "grade"),
    [
        (yarn(20), yarn(90), Grade.STRONG),
        (yarn(50), yarn(75), Grade.STRONG),
        (yarn(50), yarn(65), Grade.WORKABLE),
        (yarn(50), yarn(57), Grade.CLOSE),
        (yarn(50), yarn(53), Grade.LOST),
        (yarn(50, 60, 30), yarn(50, -40, 30), Grade.STRONG),
        (yarn(60, 15, 20), yarn(60, 15, -10), Grade.CLOSE),
    ],
)
def test_typical_pairs(first, second, grade):
    assert compare(first, second, SHAWL).grade is grade


def test_a_pair_keeps_its_plain_numbers():
    first, second = yarn(30, 20, 5), yarn(72, -10, 40)
    pair = compare(first, second, SHAWL)
    assert (pair.first, pair.second) == (0, 1)
    assert pair.delta_l == 42
    assert pair.delta_e == pytest.approx(delta_e_2000(first.lab, second.lab), abs=1e-9)
    assert pair.left == min(pair.left_at_arm, pair.left_across_room)


def test_the_same_yarn_twice_is_lost_at_every_distance():
    pair = compare(yarn(50, 10, 10), yarn(50, 10, 10), SHAWL)
    assert pair.delta_e == pair.left == pair.left_in_hand == 0
    assert pair.fades_at_m == 0
    assert pair.grade is Grade.LOST


def test_order_does_not_matter():
    first, second = yarn(30, 20, 5, 4), yarn(60, -10, 40, 9)
    forwards, backwards = compare(first, second, SHAWL), compare(second, first, SHAWL)
    assert forwards.left == pytest.approx(backwards.left, abs=1e-12)
    assert forwards.delta_e == pytest.approx(backwards.delta_e, abs=1e-12)


def hue_pair_matching(target, lightness):
    """Two equally light yarns of nearly opposite hue whose plain difference is `target`."""
    low, high = 0.0, 100.0
    for _ in range(60):
        middle = (low + high) / 2
        if delta_e_2000(Lab(lightness, middle, 1), Lab(lightness, -middle, 2)) < target:
            low = middle
        else:
            high = middle
    return yarn(lightness, low, 1), yarn(lightness, -low, 2)


@pytest.mark.parametrize("target", [10, 15, 20, 25, 30])
@pytest.mark.parametrize("gauge", [Fabric(30, 60), SHAWL, Fabric(12, 20)])
def test_equal_lightness_fades_before_equal_difference_in_lightness(target, gauge):
    dark, light = yarn(50), yarn(50 + target * 1.1)
    plain = compare(dark, light, gauge)
    one, other = hue_pair_matching(plain.delta_e, 50)
    hues = compare(one, other, gauge)
    assert hues.delta_e == pytest.approx(plain.delta_e, abs=1e-6)
    assert hues.left_across_room < plain.left_across_room
    assert fading_distance(one, other, gauge) < fading_distance(dark, light, gauge)


@pytest.mark.parametrize("spread", [1, 3, 8, 20])
def test_speckles_take_contrast_away(spread):
    solid = compare(yarn(50), yarn(65), SHAWL)
    speckled = compare(yarn(50, spread=spread), yarn(65, spread=spread), SHAWL)
    one = compare(yarn(50, spread=spread), yarn(65), SHAWL)
    assert speckled.left < one.left < solid.left
    assert speckled.left_in_hand < one.left_in_hand < solid.left_in_hand
    assert speckled.delta_e == solid.delta_e
    assert speckled.grade_if_solid is solid.grade
    assert solid.hidden == 0 < one.hidden < speckled.hidden


def test_an_unmeasured_speckled_yarn_counts_as_a_typical_one():
    told = compare(yarn(50, dye_style="speckled"), yarn(65), SHAWL)
    measured = compare(yarn(50, spread=TYPICAL_SPREAD["speckled"]), yarn(65), SHAWL)
    assert told == measured
    assert compare(yarn(50, dye_style="solid"), yarn(65), SHAWL).hidden == 0


def test_greys_gain_nothing_from_the_tint_that_the_filter_gives_them():
    pair = compare(yarn(50), yarn(60), SHAWL)
    assert pair.left_in_hand == pair.left_at_arm == pair.delta_e


def test_texture_of_a_pair_is_twice_the_root_mean_square_of_its_spreads():
    (texture,) = pair_texture(np.array([3.0]), np.array([4.0]))
    assert texture == pytest.approx(2 * np.sqrt((9 + 16) / 2))


def test_texture_as_strong_as_the_stripe_leaves_seven_tenths():
    assert hide(np.array([10.0]), np.array([10.0])) == pytest.approx([10 / np.sqrt(2)])
    assert hide(np.array([10.0, 0.0]), np.array([0.0, 0.0])).tolist() == [10.0, 0.0]


def test_fading_distance_is_where_a_just_noticeable_difference_is_left():
    first, second = yarn(45, 10, -20), yarn(60, -5, 10)
    fades = fading_distance(first, second, SHAWL)
    labs, textures = as_arrays((first, second))
    left = see_pairs(labs[np.newaxis], textures[np.newaxis], SHAWL, (fades,)).left
    assert left.item() == pytest.approx(contrast.JUST_NOTICEABLE, rel=0.02)


def test_a_bold_stripe_in_giant_stitches_never_fades_in_range():
    assert compare(yarn(5), yarn(98), Fabric(1, 1)).fades_at_m is None


def test_bulky_fabric_carries_further_than_fine():
    first, second = yarn(45, 10, -20), yarn(60, -5, 10)
    distances = [fading_distance(first, second, Fabric(g, 2 * g)) for g in (40, 22, 10)]
    assert distances == sorted(distances)
    # What counts is the angle a row fills, so twice the row height carries twice as far.
    double = fading_distance(first, second, Fabric(11, 22))
    assert double == pytest.approx(2 * distances[1], rel=0.02)


def test_every_pair_is_compared_once():
    palette = [yarn(l) for l in (10, 30, 50, 70)]  # noqa: E741
    pairs = compare_all(palette, SHAWL)
    assert [(p.first, p.second) for p in pairs] == [(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)]
    alone = compare(palette[1], palette[2], SHAWL)
    assert pairs[3].grade is alone.grade
    assert pairs[3].left == pytest.approx(alone.left, abs=1e-9)
    assert pairs[3].fades_at_m == pytest.approx(alone.fades_at_m, abs=1e-9)


def test_one_munsell_step_in_middle_grey_is_workable():
    """The bound's reason: value 5 and value 6 differ by one step, 51.0 and 61.0 in L*."""
    assert compare(yarn(51.004), yarn(61.046), SHAWL).grade is Grade.WORKABLE
    assert compare(yarn(40.737), yarn(61.046), SHAWL).grade is Grade.STRONG
    assert GREY_STEP == 10
