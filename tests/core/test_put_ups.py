"""Balls to buy and yarn in the bag, with exact unit factors."""

from decimal import Decimal

import pytest

from palettes.colour.quantities import ounces_from_grams, yards_from_metres
from schedule.pattern.errors import BadAmount
from schedule.pattern.put_ups import Holding, PutUp, balls_to_buy, metres_held, mix_put_ups
from tests.reference import rows

FINGERING = PutUp(Decimal(100), Decimal(400))
SPORT = PutUp(Decimal(50), Decimal(150))


def test_ounces_and_yards_are_exact_by_the_agreement_of_1959():
    factors = {row["symbol"]: Decimal(row["value"]) for row in rows("units.csv")}
    ball = PutUp.from_imperial(Decimal("3.5"), 437)
    assert ball.grams == Decimal("3.5") * factors["oz"] == Decimal("99.2233309375")
    assert ball.metres == 437 * factors["yd"] == Decimal("399.5928")
    assert ounces_from_grams(ball.grams) == Decimal("3.5")
    assert yards_from_metres(ball.metres) == 437


@pytest.mark.parametrize(
    ("grams", "reserve", "balls"),
    [
        (Decimal("90.9"), Decimal("0.1"), 1),  # 99.99 g
        (Decimal("91"), Decimal("0.1"), 2),  # 100.1 g
        (Decimal("100"), 0, 1),
        (0, Decimal("0.1"), 0),
        (240.0, 0.0, 3),
    ],
)
def test_buys_whole_balls_with_the_reserve_on_top(grams, reserve, balls):
    assert balls_to_buy(grams, FINGERING, reserve) == balls


def test_unlike_balls_add_up_in_metres():
    bag = [Holding(FINGERING, Decimal("0.5")), Holding(SPORT, Decimal(2))]
    assert metres_held(bag) == 200 + 300
    assert metres_held([]) == 0


@pytest.mark.parametrize(
    ("metres", "counts"),
    [
        (0, (0, 0)),
        (150, (0, 1)),
        (400, (1, 0)),
        (430, (0, 3)),  # 450 m beats 550 m and 800 m
        (550, (1, 1)),
        (1200, (3, 0)),  # three balls beat eight, both exact
    ],
)
def test_mixes_put_ups_with_the_least_left_over(metres, counts):
    assert mix_put_ups(metres, [FINGERING, SPORT]) == counts


def test_a_single_put_up_is_no_choice():
    assert mix_put_ups(401, [FINGERING]) == (2,)


REFUSALS = [
    (lambda: PutUp(Decimal(0), Decimal(400)), "0 g in a ball; it must be more than 0."),
    (lambda: PutUp(Decimal(100), Decimal(-1)), "-1 m in a ball"),
    (lambda: Holding(SPORT, Decimal(-1)), "-1 balls; it must be 0 or more."),
    (lambda: balls_to_buy(-5, SPORT), "-5 g"),
    (lambda: balls_to_buy(5, SPORT, -1), "-1 of reserve"),
    (lambda: mix_put_ups(float("nan"), [SPORT]), "nan m"),
    (lambda: mix_put_ups(100, []), "No put-up to choose from"),
]


@pytest.mark.parametrize(("act", "words"), REFUSALS)
def test_refuses_amounts_that_cannot_be(act, words):
    with pytest.raises(BadAmount, match=words.replace(".", r"\.")):
        act()
