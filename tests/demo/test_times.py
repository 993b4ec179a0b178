"""The running knit-along's clock, whatever day the demo is started on."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from kal.demo.times import CADENCES, CLUES, running_rhythm

ANY_MORNING = datetime(2026, 1, 1, 9, 3, 20, tzinfo=UTC)
FOUR_YEARS = [ANY_MORNING + timedelta(days=day) for day in range(4 * 365 + 1)]


def test_some_change_of_the_clocks_falls_into_it_on_every_day_of_four_years():
    assert [now for now in FOUR_YEARS if not running_rhythm(now).crosses_a_change] == []


def test_a_clue_is_due_within_minutes_and_others_lie_on_both_sides():
    for now in FOUR_YEARS[::5]:
        rhythm = running_rhythm(now)
        wait = rhythm.instants[rhythm.coming - 1] - now
        assert timedelta(minutes=4) <= wait <= timedelta(minutes=5)
        assert 1 < rhythm.coming < CLUES


def test_every_clue_has_the_same_wall_time_at_the_cadence():
    for now in FOUR_YEARS[::5]:
        rhythm = running_rhythm(now)
        local = [i.astimezone(ZoneInfo(rhythm.zone)).replace(tzinfo=None) for i in rhythm.instants]
        gaps = {later - earlier for earlier, later in pairwise(local)}
        assert gaps == {timedelta(days=rhythm.cadence_days)}
        assert rhythm.cadence_days in CADENCES


@pytest.mark.parametrize("hour", range(24))
def test_the_hour_that_comes_twice_does_not_move_the_coming_clue(hour):
    """Europe/Lisbon repeats 01:00 to 02:00 on 31 October 2027, from 00:00 to 02:00 UTC."""
    now = datetime(2027, 10, 31, hour, 20, tzinfo=UTC)
    rhythm = running_rhythm(now)
    assert rhythm.instants[rhythm.coming - 1] == now + timedelta(minutes=4)
