"""Scaling by gauge against the law of plain knitting and its published constants."""

import math
from decimal import Decimal

import pytest

from schedule.pattern.errors import BadGauge
from schedule.pattern.gauge import Gauge, needle_factor, same_size_factor, same_stitches_factor


def loop_cm(gauge):
    """Loop length by Munden's constants for plain knitting at rest: k = 4.2 x 5.5 per cm2."""
    return math.sqrt(4.2 * 5.5 / (float(gauge.stitches) / 10 * float(gauge.rows) / 10))


def test_the_constants_give_the_published_stitch_density():
    """An examination answer: loops of 0.5 cm are 92 to the square centimetre."""
    assert round(4.2 * 5.5 / 0.5**2) == 92
    assert loop_cm(Gauge(84, 110)) == pytest.approx(0.5)


@pytest.mark.parametrize(("stitches", "rows"), [(22, 32), (26, 36), (24, 34), (18.5, 25)])
def test_scales_with_the_loop_length_of_plain_knitting(stitches, rows):
    plan, own = Gauge(24, 34), Gauge(stitches, rows)
    assert same_stitches_factor(plan, own) == pytest.approx(loop_cm(own) / loop_cm(plan))


def test_the_same_size_takes_less_at_a_looser_gauge_and_the_same_stitches_more():
    plan, loose = Gauge(24), Gauge(20)
    assert same_stitches_factor(plan, loose) == pytest.approx(24 / 20)
    # Fewer stitches by (20 / 24) squared, each 24 / 20 as long.
    assert same_size_factor(plan, loose) == pytest.approx((20 / 24) ** 2 * 24 / 20)


def test_rows_count_only_where_both_gauges_have_them():
    assert same_stitches_factor(Gauge(24, 34), Gauge(20)) == pytest.approx(1.2)
    assert same_stitches_factor(Gauge(24, 40), Gauge(24, 36)) == pytest.approx(math.sqrt(40 / 36))


def test_a_larger_needle_takes_more_but_less_than_in_proportion():
    assert needle_factor(Decimal("3.5"), Decimal("3.5")) == 1
    assert 1 < needle_factor(3.5, 4) < 4 / 3.5


@pytest.mark.parametrize("amount", [0, -24, Decimal("NaN"), float("inf")])
def test_refuses_a_gauge_or_needle_of_nothing(amount):
    for act in (
        lambda: Gauge(amount),
        lambda: Gauge(24, amount),
        lambda: needle_factor(amount, 4),
        lambda: needle_factor(4, amount),
    ):
        with pytest.raises(BadGauge, match="it must be more than 0"):
            act()


def test_names_the_gauge_it_refuses():
    with pytest.raises(BadGauge, match=r"^0 stitches to 10 cm; it must be more than 0\.$"):
        Gauge(0)
