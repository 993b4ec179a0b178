"""Hours of a clue, and weeks that ask too much at once."""

import pytest

from schedule.pattern.errors import BadPace
from schedule.pattern.pace import (
    DEFAULT_PACE,
    WORDS,
    HandsNote,
    PaceSource,
    WeekNote,
    check_weeks,
    hours_for,
    plan_weeks,
    timed_pace,
)

SIXTY = timed_pace(120, 2)  # an hour is 3,600 stitches


def weeks_of(hours, days=7):
    stitches = [round(3600 * each) for each in hours]
    return plan_weeks(stitches, [days] * len(stitches), SIXTY)


def test_agrees_with_a_published_timing():
    """82,950 stitches at 47.94 a minute are 28.84 hours (a knitter's weblog, November 2009)."""
    assert hours_for(82_950, timed_pace(47.94, 1)).likely == pytest.approx(28.84, abs=0.01)


def test_ones_own_pace_is_surer_than_the_default_and_says_where_it_is_from():
    own, default = hours_for(9000, timed_pace(75, 3)), hours_for(9000)
    assert own.likely == default.likely == 6
    assert default.low < own.low < 6 < own.high < default.high
    assert (timed_pace(75, 3).source, DEFAULT_PACE.source) == (
        PaceSource.TIMED, PaceSource.DEFAULT,
    )  # fmt: skip


def test_hours_a_week_follow_the_days_to_the_next_clue():
    one, two = plan_weeks([36_000, 36_000], [7, 14], SIXTY)
    assert (one.hours.likely, two.hours.likely) == pytest.approx((10, 5))
    assert (one.clue, two.clue) == (1, 2)


def test_a_week_of_19_hours_after_one_of_4_is_named_with_both():
    (finding,) = check_weeks(weeks_of([5, 4, 19, 13]))
    assert (finding.note, finding.clue) == (WeekNote.STEEP, 3)
    assert finding.words().startswith("Clue 3 asks for 19 hours a week after 4:")


@pytest.mark.parametrize("hours", [[5, 6, 8, 9, 8], [0.5, 1.5, 4], [12, 4, 7], [9], []])
def test_gentle_schedules_have_no_findings(hours):
    assert check_weeks(weeks_of(hours)) == ()


def test_a_long_week_is_named_even_when_it_is_no_jump():
    assert [(each.clue, each.note) for each in check_weeks(weeks_of([13, 16, 18]))] == [
        (2, WeekNote.LONG),
        (3, WeekNote.LONG),
    ]


def test_every_note_has_words_and_hands_are_sent_to_a_professional():
    assert set(WORDS) == {*WeekNote, *HandsNote}
    assert "doctor or a physiotherapist" in WORDS[HandsNote.REST]


@pytest.mark.parametrize(
    "act",
    [
        lambda: timed_pace(0, 2),
        lambda: timed_pace(50, 0),
        lambda: timed_pace(float("nan"), 2),
        lambda: hours_for(-1),
        lambda: plan_weeks([100], [0]),
    ],
)
def test_refuses_speeds_that_cannot_be(act):
    with pytest.raises(BadPace, match="it must be"):
        act()
