"""Forecasts by hand, and against simulated knit-alongs whose truth is known.

The simulation's truth is not the forecast's model; benchmarks/forecast_simulation.py says how, and
runs more of it.
"""

import math
from dataclasses import replace

import pytest

from benchmarks.forecast_simulation import WORLDS, World, simulate
from schedule.pattern.forecast import (
    ASSUMED_BETWEEN,
    ASSUMED_TENSION_SHARE,
    ASSUMED_WITHIN,
    NOBODY_YET,
    PLAN_VARIANCE,
    WITHIN_SHARE,
    Crowd,
    Ground,
    Level,
    forecast,
    learn,
)
from schedule.pattern.shrinkage import Population
from schedule.pattern.weigh_in import Stretch, Usage
from schedule.pattern.yarn import Z_90


def usage(letter="A", total=80.0, done=0.0, left=100.0, *stretches):
    return Usage(letter, total, done, left, 0.2, stretches)


def test_before_anybody_weighs_the_plan_is_all_there_is():
    made = forecast({"A": usage()})["A"]
    assert (made.ground, made.need, made.rate) == (Ground.PLAN, 80, 1)
    spread = math.sqrt(ASSUMED_BETWEEN + PLAN_VARIANCE + ASSUMED_WITHIN * WITHIN_SHARE)
    assert made.high == pytest.approx(80 * math.exp(Z_90 * spread))
    assert made.low == pytest.approx(80 * math.exp(-Z_90 * spread))


def test_a_weigh_in_that_is_too_early_to_tell_is_not_called_none():
    early = forecast({"A": usage("A", 80, 5, 95)})["A"]
    assert (early.ground, early.is_weighed) == (Ground.TOO_EARLY, True)
    assert not forecast({"A": usage()})["A"].is_weighed


def test_one_letter_is_shrunk_by_the_share_of_its_noise():
    """By hand: y = log 1.2, V = within + 1 / 30**2, A = between + the plan's own variance."""
    made = forecast({"A": usage("A", 80, 30, 64, Stretch(30, 36, 1.0))})["A"]
    prior, noise = ASSUMED_BETWEEN + PLAN_VARIANCE, ASSUMED_WITHIN + 1 / 30**2
    assert math.log(made.rate) == pytest.approx(math.log(1.2) * prior / (prior + noise))
    assert made.ground is Ground.OWN
    assert made.need == pytest.approx(50 * made.rate)
    assert made.low < made.need < made.high


def test_a_loose_hand_in_one_letter_warns_of_the_next():
    usages = {"A": usage("A", 80, 30, 64, Stretch(30, 36, 1.0)), "B": usage("B", 80, 0, 84)}
    alone, together = forecast({"B": usages["B"]})["B"], forecast(usages)["B"]
    assert (alone.ground, together.ground) == (Ground.PLAN, Ground.OTHER_LETTERS)
    assert 1 < together.rate < forecast(usages)["A"].rate
    assert together.chance_short > alone.chance_short
    tension = ASSUMED_BETWEEN * ASSUMED_TENSION_SHARE
    total = ASSUMED_BETWEEN + PLAN_VARIANCE + ASSUMED_WITHIN + 1 / 30**2
    assert math.log(together.rate) == pytest.approx(tension / total * math.log(1.2))


def test_the_crowds_rate_stands_in_for_a_knitter_who_never_weighed():
    crowd = Crowd(rates={"A": Population(math.log(1.1), 1e-4, 0.01, 200)})
    made = forecast({"A": usage()}, crowd)["A"]
    assert made.ground is Ground.CROWD
    assert made.rate == pytest.approx(1.1)


def test_a_letter_nobody_weighed_borrows_the_others_rate():
    crowd = Crowd(rates={"A": Population(0.08, 1e-4, 0.01, 200)})
    assert crowd.rate("C") == (0.08, PLAN_VARIANCE)
    assert NOBODY_YET.rate("C") == (0, PLAN_VARIANCE)


@pytest.mark.parametrize(
    ("left", "level"),
    [(110, Level.ENOUGH), (88, Level.WATCH), (70, Level.SHORT), (0, Level.SHORT)],
)
def test_levels_follow_the_chance(left, level):
    made = forecast({"A": usage(left=left)})["A"]
    assert made.level is level
    assert made.missing == max(0, made.high - left)


def test_as_much_as_is_needed_is_an_even_chance():
    assert forecast({"A": usage(left=80)})["A"].chance_short == pytest.approx(0.5)


def test_a_letter_that_is_done_needs_nothing_even_with_nothing_left():
    made = forecast({"A": usage("A", 80, 80, 0)})["A"]
    assert (made.low, made.need, made.high, made.chance_short) == (0, 0, 0, 0)
    assert made.level is Level.ENOUGH


def test_no_letters_no_forecasts():
    assert forecast({}) == {}


def test_a_crowd_of_nobody_is_what_is_assumed():
    assert learn([]) == NOBODY_YET
    assert learn([{"A": usage()}]) == NOBODY_YET


def test_the_crowd_learns_that_the_test_knitter_was_tight():
    crowd = learn([{"A": usage("A", 80, 40, 50, Stretch(40, used, 0.5))} for used in (43, 44, 45)])
    assert 0 < crowd.rates["A"].mean < math.log(44 / 40)
    assert crowd.tension + crowd.yarn < ASSUMED_BETWEEN


def test_more_yarn_left_is_never_a_greater_worry():
    chances = [forecast({"A": usage(left=left)})["A"].chance_short for left in range(40, 140)]
    assert chances == sorted(chances, reverse=True)


CLAIMED = 0.90
WITHIN_POINTS = 0.03


@pytest.fixture(scope="module")
def usual():
    """Fifty knit-alongs of forty knitters; many, because a test knit is off for all at once."""
    return simulate(World(knitters=40), cohorts=50, seed=7)


def test_intervals_cover_what_they_claim(usual):
    assert usual.intervals > 50_000
    assert abs(usual.coverage - CLAIMED) <= WITHIN_POINTS
    assert abs(usual.weighed_coverage - CLAIMED) <= WITHIN_POINTS


@pytest.mark.parametrize("name", ["coarse scales, 5 g", "few weigh", "uneven knitters"])
def test_intervals_still_cover_it_once_weighed_where_the_world_is_not_as_assumed(name):
    score = simulate(replace(WORLDS[name], knitters=40), cohorts=25, seed=7)
    assert abs(score.weighed_coverage - CLAIMED) <= WITHIN_POINTS


def test_shortages_are_warned_of_a_clue_ahead(usual):
    assert usual.shortages > 300
    assert usual.hits >= 0.90
    # What that costs; docs/forecast.md states these.
    assert usual.false_alarm_rate <= 0.30
    assert usual.false_short_rate <= 0.04


def test_chances_come_true_as_often_as_they_say(usual):
    for low, high in ((0, 0.1), (0.1, 0.5), (0.5, 1.01)):
        count, said, were = usual.calibration(low, high)
        assert count > 500
        assert abs(said - were) < 0.06
