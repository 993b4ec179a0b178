from decimal import Decimal

import pytest

from palettes.colour import quantities
from palettes.colour.errors import BadQuantity
from palettes.colour.quantities import balls_needed, check_quantities
from palettes.colour.spaces import Lab
from palettes.colour.swatch import Need, Swatch
from tests import reference

GREY = Lab(50, 0, 0)


def yarn(grams=50.0, metres=200.0, balls=1.0):
    return Swatch("Fog", GREY, put_up_grams=grams, put_up_metres=metres, balls=balls)


@pytest.mark.parametrize(
    ("need", "put_up", "balls"),
    [
        ((100, 400), (50, 200), 2),
        ((100, 400), (50, 400), 2),
        ((100, 401), (50, 200), 3),
        ((100.1, 400), (50, 200), 3),
        ((1, 1), (100, 400), 1),
        ((0.3, 1), (0.1, 100), 3),
        # IEEE 754: the sum of these doubles is not the double nearest to 0.3.
        ((0.1 + 0.2, 1), (0.1, 100), 3),
        ((0.300001, 1), (0.1, 100), 4),
        ((1e-9, 1e-9), (50, 200), 1),
        # Two balls of 1.75 oz to the last digit of NIST's ounce.
        ((Decimal("99.2233309375"), 1), (Decimal("49.61166546875"), 100), 2),
        ((Decimal("99.9"), 100), (Decimal("33.3"), 1000), 3),
        ((100, 400), (50, None), 2),
        ((100, 400), (None, 100), 4),
        ((None, 400), (50, 100), 4),
    ],
)
def test_balls_cover_grams_and_metres(need, put_up, balls):
    assert balls_needed(*need, *put_up) == balls


@pytest.mark.parametrize(
    ("amounts", "message"),
    [
        ((0, 400, 50, 200), "0 grams needed; it must be more than 0"),
        ((100, -1, 50, 200), "-1 metres needed"),
        ((100, 400, 0, 200), "0 grams in a ball"),
        ((100, 400, 50, float("inf")), "inf metres in a ball"),
        ((100, 400, 50, float("nan")), "nan metres in a ball"),
        ((100, 400, None, None), "the ball band says both"),
        ((100, None, None, 200), "the ball band says both"),
    ],
)
def test_impossible_amounts_are_refused(amounts, message):
    with pytest.raises(BadQuantity, match=message):
        balls_needed(*amounts)


def test_enough_short_and_unknown():
    lines = check_quantities(
        [yarn(balls=2), yarn(balls=1), yarn(balls=None), Swatch("Bare", GREY, balls=3)],
        [Need(letter, 100, 380) for letter in "ABCD"],
    )
    enough, short, uncounted, unlabelled = lines
    assert [line.letter for line in lines] == ["A", "B", "C", "D"]
    assert enough.is_enough is True
    assert enough.balls_short == 0
    assert enough.grams_short == 0
    assert enough.is_tight
    assert short.is_enough is False
    assert short.balls_needed == 2
    assert short.balls_held == 1
    assert short.balls_short == 1
    assert short.grams_short == 50
    assert short.metres_short == 180
    assert uncounted.is_enough is None
    assert uncounted.balls_needed == 2
    assert unlabelled.is_enough is None
    assert unlabelled.balls_needed is None


def test_a_reserve_in_what_is_asked_for_is_over_what_the_pattern_takes():
    (line,) = check_quantities([yarn(balls=2)], [Need("A", 100, 400, reserve=0.1)])
    assert line.is_enough
    assert line.margin == Decimal("0.1")
    assert not line.is_tight
    (line,) = check_quantities([yarn(balls=2)], [Need("A", 100, 400, reserve=0.04)])
    assert line.is_tight
    (line,) = check_quantities([yarn(balls=1.9)], [Need("A", 100, 400, reserve=0.1)])
    assert not line.is_enough
    with pytest.raises(BadQuantity, match=r"reserve of -0\.1"):
        Need("A", 100, 400, reserve=-0.1)


def test_a_part_ball_counts_and_whole_ones_are_bought():
    (line,) = check_quantities([yarn(balls=1.5)], [Need("A", 100, 400)])
    assert line.grams_short == 25
    assert line.balls_short == 1
    # 2.4 balls are needed and 1.5 are here: one more is enough, though 1 and 2 would be three.
    (line,) = check_quantities([yarn(balls=1.5)], [Need("A", 120, 1)])
    assert line.balls_short == 1
    (line,) = check_quantities([yarn(balls=0)], [Need("A", 100, 400)])
    assert line.balls_short == 2


def test_margin_is_that_of_the_scarcer_measure():
    (line,) = check_quantities([yarn(balls=3)], [Need("A", 100, 500)])
    assert line.margin == Decimal("0.2")
    assert not line.is_tight


def test_letters_without_yarn_and_yarns_without_letter_are_left_out():
    assert len(check_quantities([yarn()], [Need("A", 10, 10), Need("B", 10, 10)])) == 1
    assert len(check_quantities([yarn(), yarn()], [Need("A", 10, 10)])) == 1
    assert check_quantities([yarn()], []) == ()


def test_units_are_exact():
    """The international yard and pound agreement of 1959."""
    published = {row["symbol"]: Decimal(row["value"]) for row in reference.rows("units.csv")}
    assert published["yd"] == quantities.METRES_PER_YARD
    assert published["oz"] == quantities.GRAMS_PER_OUNCE
    assert published["in"] == quantities.MILLIMETRES_PER_INCH
    assert published["lb"] == 16 * quantities.GRAMS_PER_OUNCE
    assert 36 * published["in"] == 1000 * quantities.METRES_PER_YARD
    assert quantities.metres_from_yards(437) == Decimal("399.5928")
    assert quantities.grams_from_ounces(Decimal("3.5")) == Decimal("99.2233309375")
    assert quantities.yards_from_metres(Decimal("0.9144")) == 1
    assert quantities.ounces_from_grams(Decimal("453.59237")) == 16
    assert quantities.metres_from_yards(0.1) == Decimal("0.09144")


@pytest.mark.parametrize(
    ("ounces", "grams"),
    [
        ("1.75", "50"),  # as bands of 50 g say it, cut short or rounded: common practice
        ("1.76", "50"),
        ("3.5", "100"),
        ("3.53", "100"),
        ("0.88", "25"),
        ("5.25", "150"),
        ("7", "200"),
        ("4", "113.398092500"),  # a ball of four true ounces
        ("16", "453.592370000"),  # a pound
        ("1.7", "48.1941893125"),
    ],
)
def test_the_ounces_on_a_band_stand_for_round_grams(ounces, grams):
    assert quantities.grams_on_band(Decimal(ounces)) == Decimal(grams)


@pytest.mark.parametrize(
    ("yards", "metres"),
    [("437", "400"), ("438", "401"), ("219", "200"), ("328", "300"), ("5", "4.572")],
)
def test_the_yards_on_a_band_stand_for_whole_metres(yards, metres):
    assert quantities.metres_on_band(Decimal(yards)) == Decimal(metres)


@pytest.mark.parametrize("grams", [25, 50, 75, 100, 115, 125, 150, 200, 250, 400, 500])
def test_what_a_band_says_in_either_system_is_the_same_ball(grams):
    """Ounces to the hundredth, as the form shows what is kept, lead back to the grams kept."""
    shown = round(quantities.ounces_from_grams(grams), 2)
    assert abs(quantities.grams_on_band(shown) - grams) < Decimal("0.15")
    assert quantities.grams_on_band(shown) == grams or grams % 25


def test_two_balls_of_fifty_grams_are_a_hundred_whatever_the_band_says_it_in():
    for ounces, yards in (("1.75", 219), ("1.76", 219), ("1.76", 218)):
        put_up = quantities.grams_on_band(Decimal(ounces)), quantities.metres_on_band(yards)
        assert quantities.balls_needed(100, 398, *put_up) == 2
