"""Moving several releases at once, across changes of the clocks in several zones.

Every change of the clocks below is from the tz database (files europe, northamerica,
australasia and africa), checked by hand.
"""

from datetime import UTC, date, datetime, timedelta

import pytest

from schedule.pattern.clock_changes import ClockChange, clock_change
from schedule.pattern.shifts import repeat_from, shift_by, shift_to

HOUR = timedelta(hours=1)


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def local(text: str) -> datetime:
    return datetime.fromisoformat(text)


def at(releases) -> list[str]:
    return [f"{release.at:%m-%d %H:%M}" for release in releases.values()]


# 12:00 in Lisbon on 14 and 21 March 2027; summer time begins there on 28 March at 01:00 UTC.
SPRING = {1: utc("2027-03-14 12:00"), 2: utc("2027-03-21 12:00")}


def test_days_keep_the_local_hour_where_the_clocks_go_forward():
    assert at(shift_by(SPRING, "Europe/Lisbon", days=7, hours=0)) == ["03-21 12:00", "03-28 11:00"]


def test_hours_are_sixty_minutes_where_the_clocks_go_forward():
    instants = {1: utc("2027-03-27 13:00")}
    (release,) = shift_by(instants, "Europe/Lisbon", days=0, hours=24).values()
    assert release.at == utc("2027-03-28 13:00")
    assert release.local == local("2027-03-28 14:00")


def test_hours_come_on_top_of_days():
    assert at(shift_by(SPRING, "Europe/Lisbon", days=7, hours=2)) == ["03-21 14:00", "03-28 13:00"]


def test_earlier_is_later_backwards():
    later = shift_by(SPRING, "Europe/Lisbon", days=9, hours=5)
    back = shift_by({n: r.at for n, r in later.items()}, "Europe/Lisbon", days=-9, hours=-5)
    assert {n: r.at for n, r in back.items()} == SPRING


def test_days_into_a_skipped_hour_go_forward_by_it():
    """Halifax skips 02:00 to 03:00 on 14 March 2027."""
    instants = {3: utc("2027-03-07 06:30")}  # 02:30 in winter time, UTC-4
    (release,) = shift_by(instants, "America/Halifax", days=7, hours=0).values()
    assert (release.local, release.moved_by) == (local("2027-03-14 03:30"), HOUR)


def test_days_into_an_hour_that_comes_twice_mean_its_first():
    """Hobart's clocks go back at 03:00 on 4 April 2027, from UTC+11 to UTC+10."""
    instants = {3: utc("2027-03-27 15:30")}  # 02:30 on the 28th, UTC+11
    (release,) = shift_by(instants, "Australia/Hobart", days=7, hours=0).values()
    assert release.at == utc("2027-04-03 15:30")


def test_the_rest_keep_their_distance_by_the_wall_clock():
    moved = shift_to(SPRING, "Europe/Lisbon", local("2027-03-22 18:00"))
    assert at(moved) == ["03-22 18:00", "03-29 17:00"]


def test_a_first_one_in_a_skipped_hour_does_not_push_the_rest():
    moved = shift_to(SPRING, "Europe/Lisbon", local("2027-03-28 01:30"))
    assert [release.local for release in moved.values()] == [
        local("2027-03-28 02:30"),
        local("2027-04-04 01:30"),
    ]


def test_a_new_rhythm_starts_at_the_time_given():
    releases = repeat_from({4, 2, 3}, "Europe/Lisbon", local("2027-03-20 09:00"), 5)
    assert list(releases) == [2, 3, 4]
    assert at(releases) == ["03-20 09:00", "03-25 09:00", "03-30 08:00"]


@pytest.mark.parametrize(
    ("start", "end", "zone", "expected"),
    [
        (
            "2027-03-21 12:00",
            "2027-03-28 11:00",
            "Europe/Lisbon",
            ClockChange(date(2027, 3, 28), HOUR),
        ),
        (
            "2027-10-30 12:00",
            "2027-11-06 12:00",
            "Europe/Lisbon",
            ClockChange(date(2027, 10, 31), -HOUR),
        ),
        (
            "2027-03-13 12:00",
            "2027-03-20 12:00",
            "America/Halifax",
            ClockChange(date(2027, 3, 14), HOUR),
        ),
        (
            "2027-04-01 12:00",
            "2027-04-08 12:00",
            "Pacific/Auckland",
            ClockChange(date(2027, 4, 4), -HOUR),
        ),
        (
            "2027-04-01 12:00",
            "2027-04-08 12:00",
            "Australia/Lord_Howe",
            ClockChange(date(2027, 4, 4), -HOUR / 2),
        ),
        ("2027-03-21 12:00", "2027-03-28 11:00", "Asia/Tokyo", None),
        ("2027-03-01 12:00", "2027-11-29 12:00", "Europe/Lisbon", None),
        # A second either side of the change.
        (
            "2027-03-28 00:59:59",
            "2027-03-28 01:00:00",
            "Europe/Lisbon",
            ClockChange(date(2027, 3, 28), HOUR),
        ),
        ("2027-03-28 00:59:58", "2027-03-28 00:59:59", "Europe/Lisbon", None),
        ("2027-03-28 01:00:00", "2027-03-28 01:00:01", "Europe/Lisbon", None),
    ],
)
def test_a_change_of_the_clocks_is_found(start, end, zone, expected):
    assert clock_change(utc(start), utc(end), zone) == expected
