"""Grams for stitches, against worked examples, by hand, and with their intervals."""

import math
from decimal import Decimal
from statistics import NormalDist

import pytest

from schedule.pattern.errors import BadAmount, UnknownLetter
from schedule.pattern.gauge import Gauge
from schedule.pattern.put_ups import PutUp
from schedule.pattern.stitches import BindOff, Part, Section
from schedule.pattern.yarn import (
    KNITTER_SPREAD,
    WIDTHS_PER_STITCH,
    Z_90,
    Basis,
    Estimate,
    Scaling,
    Source,
    at_gauge,
    check_letters,
    from_stitch_size,
    from_swatch,
    from_test_knits,
    in_yarn,
    on_needle,
    together,
    yarn_stitches,
)

FINGERING = PutUp(Decimal(100), Decimal(400))
SPORT = PutUp(Decimal(50), Decimal(150))


def test_agrees_with_a_published_weighing():
    """100 g had made 19,321 stitches, so 15 g make 15 x 193 ("Math: it really works!", 2013)."""
    assert from_swatch(15 * 193, 19_321, 100).grams == pytest.approx(15, rel=2e-3)


def test_the_interval_holds_nine_in_ten():
    assert NormalDist().inv_cdf(0.95) == pytest.approx(Z_90, abs=1e-4)
    estimate = Estimate(100, 0.1, Basis(Source.TEST_KNIT, 1))
    assert (estimate.low, estimate.high) == pytest.approx((84.83, 117.88), abs=0.01)
    assert estimate.low * estimate.high == pytest.approx(100**2)


def test_one_test_knit_is_as_unsure_as_two_knitters_differ():
    estimate = from_test_knits([42])
    assert estimate.basis == Basis(Source.TEST_KNIT, 1)
    assert estimate.grams == 42
    assert estimate.spread == pytest.approx(KNITTER_SPREAD * math.sqrt(2))


def test_test_knits_that_agree_narrow_the_interval_and_those_that_do_not_widen_it():
    one, alike, apart = (from_test_knits(g) for g in ([42], [41, 42, 43], [30, 42, 54]))
    assert alike.spread < one.spread < apart.spread
    assert alike.grams == apart.grams == 42
    # By hand: (4 x 0.01 + 2 x (1 / 42) ** 2) / 6, times 1 + 1/3.
    assert alike.spread == pytest.approx(math.sqrt((0.04 + 2 / 42**2) / 6 * 4 / 3))


def test_a_light_swatch_on_a_coarse_scale_is_worth_less():
    fine, coarse = from_swatch(5000, 600, 6, Decimal("0.1")), from_swatch(5000, 600, 6, 1)
    assert fine.grams == coarse.grams == pytest.approx(50)
    assert fine.spread < coarse.spread
    assert coarse.spread == pytest.approx(math.hypot(0.05, 1 / math.sqrt(12) / 6))


def test_stitch_size_alone_spans_common_practice_and_the_published_constant():
    """Three widths a stitch is common practice, 4.2 Munden's constant for wales at rest."""
    estimate = from_stitch_size(10_000, Gauge(24), 4)
    width_m = 0.1 / 24
    assert estimate.grams == pytest.approx(10_000 * WIDTHS_PER_STITCH * width_m / 4)
    assert estimate.low < 10_000 * 3 * width_m / 4 < 10_000 * 4.2 * width_m / 4 < estimate.high


def test_scaling_is_named_in_the_basis_and_widens_the_interval():
    plan = from_test_knits([42])
    loose = at_gauge(plan, Gauge(24), Gauge(22))
    thick = on_needle(plan, Decimal("3.5"), 4)
    assert loose.grams == pytest.approx(42 * 24 / 22)
    assert (loose.basis.scaling, thick.basis.scaling) == (Scaling.GAUGE, Scaling.NEEDLE)
    assert plan.spread < loose.spread < thick.spread
    assert loose.basis.source is Source.TEST_KNIT


def test_another_yarn_takes_the_same_metres():
    heavy = in_yarn(from_test_knits([100]), FINGERING, SPORT)
    assert SPORT.metres_of(heavy.grams) == pytest.approx(FINGERING.metres_of(100))


def test_sections_add_up_on_the_weakest_basis_and_their_doubts_do_not_cancel():
    knit = from_test_knits([30])
    guess = from_stitch_size(1000, Gauge(24), 4)
    both = together([knit, guess])
    assert both.grams == pytest.approx(30 + guess.grams)
    assert both.basis.source is Source.STITCH_SIZE
    assert both.high - both.grams == pytest.approx(
        knit.high - 30 + guess.high - guess.grams, rel=0.02
    )


def test_a_bound_off_stitch_takes_the_yarn_of_two():
    """Common practice: six widths of the row for binding off, three for a row."""
    parts: list[Part] = [
        Section("Hem", 100, 3, letters="AAB"),
        BindOff("Bind off", 100, letters="B"),
    ]
    assert yarn_stitches(parts) == {"A": 200, "B": 100 + 200}


REFUSALS = [
    (lambda: from_test_knits([]), "weigh the ball before and after"),
    (lambda: from_test_knits([0]), "weigh the ball before and after"),
    (lambda: from_test_knits([-3]), "-3 g from a test knit"),
    (lambda: from_swatch(100, 0, 6), "0 stitches in the swatch"),
    (lambda: from_swatch(100, 600, 0), "0 g of swatch"),
    (lambda: from_stitch_size(100, Gauge(24), 0), "0 m in a gram"),
    (lambda: together([]), "no section to add up"),
]


@pytest.mark.parametrize(("act", "words"), REFUSALS)
def test_refuses_amounts_that_cannot_be(act, words):
    with pytest.raises(BadAmount, match=words.replace(".", r"\.")):
        act()


@pytest.mark.parametrize("letter", ["F", "", "AB", "a"])
def test_names_a_letter_the_knit_along_lacks(letter):
    with pytest.raises(UnknownLetter, match=f"There is no colour '{letter}' here; the letters are"):
        check_letters(["A", letter], "ABCDE")
