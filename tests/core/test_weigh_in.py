"""What weigh-ins say, and which of them are refused."""

import math
from decimal import Decimal

import pytest

from schedule.pattern.errors import (
    BadAmount,
    BadProgress,
    BadWeighIn,
    MoreLeftThanBefore,
    MoreLeftThanBought,
    UnknownLetter,
)
from schedule.pattern.weigh_in import (
    BAND_SPREAD,
    SCALE_SPREAD,
    WeighIn,
    planned_so_far,
    read_weigh_ins,
)

TOTALS = {"A": 80, "B": 40}
BOUGHT = {"A": 100, "B": 50}


def read(*weigh_ins, bought=BOUGHT):
    return read_weigh_ins(weigh_ins, TOTALS, bought)


def a(planned, left, bought=100, division=1):
    return WeighIn("A", planned, left, bought, division)


def test_progress_counts_whole_clues_and_a_share_of_the_next():
    clues: list[Decimal | float | int] = [Decimal("16.5"), 9, 0, 12]
    assert planned_so_far(clues, 0) == 0
    assert planned_so_far(clues, 2) == 25.5
    assert planned_so_far(clues, 3, 0.25) == 28.5
    assert planned_so_far(clues, 4) == 37.5


@pytest.mark.parametrize(("clues", "share"), [(5, 0), (-1, 0), (1, 1.5), (1, float("nan"))])
def test_progress_beyond_the_plan_is_refused(clues, share):
    with pytest.raises(BadProgress, match="there are 4 clues"):
        planned_so_far([1, 2, 3, 4], clues, share)


def test_without_a_weigh_in_there_is_what_was_bought_as_sure_as_its_band():
    usage = read()["A"]
    assert (usage.done, usage.left, usage.planned_left, usage.stretches) == (0, 100, 80, ())
    assert usage.left_noise == pytest.approx((BAND_SPREAD * 100) ** 2)


def test_a_weigh_in_tells_used_against_planned():
    usage = read(a(20, 78))["A"]
    (stretch,) = usage.stretches
    assert (stretch.planned, stretch.used) == (20, 22)
    assert stretch.log_ratio == pytest.approx(math.log(1.1))
    # Scale and ball band: independent errors of one reading and 2 % of 100 g.
    assert stretch.noise == pytest.approx(SCALE_SPREAD**2 + 2**2)
    assert (usage.done, usage.left, usage.planned_left) == (20, 78, 60)


def test_weighing_before_casting_on_takes_the_place_of_the_band():
    usage = read(a(0, 104), a(20, 82))["A"]
    (stretch,) = usage.stretches
    assert stretch.used == 22
    assert stretch.noise == pytest.approx(2 * SCALE_SPREAD**2)


def test_later_weigh_ins_make_stretches_of_their_own():
    stretches = read(a(20, 78), a(50, 48, division=Decimal("0.1")))["A"].stretches
    assert [(s.planned, s.used) for s in stretches] == [(20, 22), (30, 30)]
    assert stretches[1].noise == pytest.approx(SCALE_SPREAD**2 * 1.01)


def test_yarn_bought_in_between_is_no_negative_use():
    usage = read(a(20, 78), a(60, 86, bought=150), bought={"A": 150, "B": 50})["A"]
    assert [s.used for s in usage.stretches] == [22, 42]
    assert usage.stretches[1].noise > 2 * SCALE_SPREAD**2
    assert usage.left == 86


def test_yarn_bought_since_the_last_weigh_in_counts_as_left():
    usage = read(a(20, 78), bought={"A": 150, "B": 50})["A"]
    assert usage.left == 128
    assert usage.left_noise > SCALE_SPREAD**2


def test_short_stretches_are_joined_until_they_tell_something():
    daily = [a(planned, 104 - planned) for planned in range(0, 41, 2)]
    stretches = read(*daily)["A"].stretches
    assert math.fsum(s.planned for s in stretches) == 40
    assert all(s.planned >= 80 / 8 for s in stretches)


def test_knitting_too_short_for_the_scale_tells_nothing_yet_but_the_yarn_left():
    usage = read(a(0, 100, division=5), a(11, 90, division=5))["A"]
    assert usage.stretches == ()
    assert (usage.done, usage.left) == (11, 90)


def test_ripping_back_takes_the_place_of_what_was_undone():
    ripped = read(a(20, 78), a(50, 45), a(30, 67))["A"]
    assert ripped == read(a(20, 78), a(30, 67))["A"]


def test_a_second_look_at_the_same_point_takes_the_place_of_the_first():
    assert read(a(20, 68), a(20, 78)) == read(a(20, 78))


def test_an_impossible_ratio_is_kept_within_bounds_and_marked():
    usage = read(a(20, 15))["A"]
    assert usage.is_strange
    assert usage.stretches[0].log_ratio == pytest.approx(math.log(3))
    assert not read(a(20, 78))["A"].is_strange


REFUSALS = [
    ([a(20, 120)], MoreLeftThanBought, "120 g of A left, but 100 g bought."),
    ([a(20, 102)], MoreLeftThanBought, "102 g of A left, but 100 g bought."),
    ([a(0, 112)], MoreLeftThanBought, "112 g of A left"),
    ([a(20, 78), a(40, 130)], MoreLeftThanBefore, "130 g of A left, but 78 g the time before."),
    ([a(20, 60), a(40, 75)], MoreLeftThanBefore, "75 g of A left, but 60 g the time before."),
    ([a(81, 10)], BadProgress, "81 g of A planned so far; the whole plan has 80 g."),
    ([a(-1, 10)], BadProgress, "-1 g of A planned"),
    ([a(20, -3)], BadAmount, "-3 g of A left; it must be 0 or more."),
    ([a(20, Decimal("NaN"))], BadAmount, "NaN g of A left"),
    ([a(20, 50, division=float("inf"))], BadAmount, "inf g of A to a division"),
    ([WeighIn("Q", 0, 1, 1)], UnknownLetter, "There is no colour 'Q' here; the letters are A B."),
]


@pytest.mark.parametrize(("weigh_ins", "refusal", "words"), REFUSALS)
def test_refuses_what_cannot_be_and_says_both_numbers(weigh_ins, refusal, words):
    with pytest.raises(refusal, match=words.replace(".", r"\.")):
        read(*weigh_ins)


@pytest.mark.parametrize(
    ("weigh_ins", "words"),
    [
        ([a(20, 120)], "4.23 oz of A left, but 3.53 oz bought."),
        ([a(20, 102)], "3.6 oz of A left, but 3.53 oz bought."),
        ([a(20, 60), a(40, 75)], "2.65 oz of A left, but 2.12 oz the time before."),
        ([a(81, 10)], "2.86 oz of A planned so far; the whole plan has 2.82 oz."),
    ],
)
def test_refusals_speak_ounces_to_who_reads_them(weigh_ins, words):
    """28.349523125 g to the ounce: NIST Handbook 44, appendix C."""
    with pytest.raises(BadWeighIn) as refused:
        read(*weigh_ins)
    assert refused.value.words(imperial=True).startswith(words)


@pytest.mark.parametrize("weigh_in", [a(20, 101), a(0, 109), a(0, 0)])
def test_allows_what_a_scale_or_a_generous_ball_can_do(weigh_in):
    assert read(weigh_in)["A"].left == weigh_in.left


def test_bought_letters_are_checked_too():
    with pytest.raises(UnknownLetter, match="no colour 'E'"):
        read(bought={"A": 100, "E": 50})
    assert issubclass(MoreLeftThanBought, BadWeighIn)
