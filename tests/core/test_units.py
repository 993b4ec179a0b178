"""Yards and ounces by their exact factors, and amounts as a reader sees them."""

from decimal import Decimal

import pytest

from kal.units import (
    GRAMS_PER_OUNCE,
    METRES_PER_YARD,
    amounts_text,
    length_text,
    ounces,
    plain,
    weight_text,
    yards,
)
from tests.reference import rows

# Source: the international yard and pound agreement of 1959, in GNU units 2.22.
FACTORS = {row["symbol"]: Decimal(row["value"]) for row in rows("units.csv")}


def test_the_factors_are_the_exact_ones():
    assert FACTORS["yd"] == METRES_PER_YARD
    assert FACTORS["oz"] == GRAMS_PER_OUNCE


def test_sixteen_ounces_are_a_pound_and_three_feet_a_yard():
    assert ounces(FACTORS["lb"]) == 16
    assert yards(3 * FACTORS["ft"] / 1000) == 1


@pytest.mark.parametrize(
    ("grams", "metric", "imperial"),
    [
        ("100", "100 g", "3.5 oz"),
        ("50", "50 g", "1.8 oz"),
        ("28.349523125", "28.3 g", "1 oz"),
        ("453.59237", "453.6 g", "16 oz"),
        ("1.25", "1.3 g", "0 oz"),
    ],
)
def test_weights_are_told_to_a_tenth(grams, metric, imperial):
    assert weight_text(Decimal(grams), imperial=False).replace("\xa0", " ") == metric
    assert weight_text(Decimal(grams), imperial=True).replace("\xa0", " ") == imperial


@pytest.mark.parametrize(
    ("metres", "metric", "imperial"),
    [("400", "400 m", "438 yd"), ("0.9144", "1 m", "1 yd"), ("91.44", "92 m", "100 yd")],
)
def test_lengths_are_rounded_up_so_nobody_runs_short(metres, metric, imperial):
    assert length_text(Decimal(metres), imperial=False).replace("\xa0", " ") == metric
    assert length_text(Decimal(metres), imperial=True).replace("\xa0", " ") == imperial


@pytest.mark.parametrize(
    ("grams", "metres", "text"),
    [("50", "200", "50 g, 200 m"), ("50", None, "50 g"), (None, "200", "200 m"), (None, None, "")],
)
def test_what_is_not_known_of_an_amount_is_left_out(grams, metres, text):
    known = [None if amount is None else Decimal(amount) for amount in (grams, metres)]
    assert amounts_text(*known, imperial=False).replace("\xa0", " ") == text


@pytest.mark.parametrize(
    ("number", "text"), [("3.50", "3.5"), ("1E+2", "100"), ("0.0", "0"), ("12.75", "12.75")]
)
def test_numbers_carry_no_needless_zeros(number, text):
    assert plain(Decimal(number)) == text
