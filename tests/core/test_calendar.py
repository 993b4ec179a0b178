"""Release instants against the transitions that the tz database publishes.

The expected UTC instants were worked out by hand from the rules in the tz database's source
files (europe, northamerica, australasia; public domain, iana.org/time-zones): the EU changes at
01:00 UTC on the last Sundays of March and October; the US at 02:00 wall time on the second Sunday
of March and the first of November; Lord Howe Island by half an hour at 02:00 on the first Sundays
of April and October; Samoa went from UTC-10 (summer) to UTC+14 by leaving out 30 December 2011.
"""

from datetime import UTC, datetime, timedelta

import pytest

from schedule.pattern.calendar import (
    WallTime,
    propose_releases,
    to_local,
    to_release,
    wall_time_kind,
)


def local(text):
    return datetime.fromisoformat(text)


def utc(text):
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


WEEKLY = [
    # zone, first wall time, expected instants a week apart
    ("Europe/Lisbon", "2026-03-21 18:00", ["2026-03-21 18:00", "2026-03-28 18:00",
                                           "2026-04-04 17:00"]),
    ("Europe/Lisbon", "2026-10-18 09:00", ["2026-10-18 08:00", "2026-10-25 09:00",
                                           "2026-11-01 09:00"]),
    ("Europe/Lisbon", "2027-03-21 18:00", ["2027-03-21 18:00", "2027-03-28 17:00"]),
    ("America/New_York", "2026-03-01 12:00", ["2026-03-01 17:00", "2026-03-08 16:00"]),
    ("America/New_York", "2026-10-25 12:00", ["2026-10-25 16:00", "2026-11-01 17:00"]),
    ("America/New_York", "2027-03-07 12:00", ["2027-03-07 17:00", "2027-03-14 16:00"]),
    ("America/New_York", "2027-10-31 12:00", ["2027-10-31 16:00", "2027-11-07 17:00"]),
    ("Australia/Lord_Howe", "2026-03-29 08:00", ["2026-03-28 21:00", "2026-04-04 21:30"]),
    ("Australia/Lord_Howe", "2026-09-27 08:00", ["2026-09-26 21:30", "2026-10-03 21:00"]),
    ("Asia/Kathmandu", "2026-03-01 18:00", ["2026-03-01 12:15", "2026-03-08 12:15"]),
]  # fmt: skip


@pytest.mark.parametrize(("zone", "first", "expected"), WEEKLY)
def test_weekly_releases_keep_their_wall_time_across_the_change(zone, first, expected):
    releases = propose_releases(local(first), zone, len(expected), 7)
    assert [release.at for release in releases] == [utc(text) for text in expected]
    assert {release.local.time() for release in releases} == {local(first).time()}
    assert {release.kind for release in releases} == {WallTime.EXISTS}


GAPS = [
    # zone, a wall time the clocks skip, where it goes, that instant
    ("Europe/Lisbon", "2026-03-29 01:30", "2026-03-29 02:30", "2026-03-29 01:30"),
    ("America/New_York", "2026-03-08 02:30", "2026-03-08 03:30", "2026-03-08 07:30"),
    ("Australia/Lord_Howe", "2026-10-04 02:15", "2026-10-04 02:45", "2026-10-03 15:45"),
    ("Pacific/Apia", "2011-12-30 12:00", "2011-12-31 12:00", "2011-12-30 22:00"),
]


@pytest.mark.parametrize(("zone", "asked", "moved", "instant"), GAPS)
def test_a_skipped_wall_time_moves_forward_by_the_gap(zone, asked, moved, instant):
    release = to_release(local(asked), zone)
    assert (release.kind, release.local, release.at) == (WallTime.GAP, local(moved), utc(instant))
    assert release.moved_by == local(moved) - local(asked)


OVERLAPS = [
    # zone, a wall time that comes twice, its first instant, its second
    ("Europe/Lisbon", "2026-10-25 01:30", "2026-10-25 00:30", "2026-10-25 01:30"),
    ("America/New_York", "2026-11-01 01:30", "2026-11-01 05:30", "2026-11-01 06:30"),
    ("Australia/Lord_Howe", "2026-04-05 01:45", "2026-04-04 14:45", "2026-04-04 15:15"),
]


@pytest.mark.parametrize(("zone", "asked", "first", "second"), OVERLAPS)
def test_a_wall_time_that_comes_twice_is_the_first_unless_the_second_is_asked_for(
    zone, asked, first, second
):
    release = to_release(local(asked), zone)
    assert (release.kind, release.at) == (WallTime.OVERLAP, utc(first))
    later = to_release(local(asked).replace(fold=1), zone)
    assert later.at == utc(second)


@pytest.mark.parametrize(("zone", "asked", "first", "second"), OVERLAPS)
def test_the_second_of_two_survives_the_round_trip(zone, asked, first, second):
    assert to_release(to_local(utc(second), zone), zone).at == utc(second)
    assert propose_releases(to_local(utc(second), zone), zone, 2, 7)[0].at == utc(second)


def test_a_moved_release_does_not_move_those_after_it():
    releases = propose_releases(local("2026-03-22 01:30"), "Europe/Lisbon", 3, 7)
    assert [release.kind for release in releases] == ["exists", "gap", "exists"]
    assert [f"{release.local:%d %H:%M}" for release in releases] == [
        "22 01:30",
        "29 02:30",
        "05 01:30",
    ]


def test_daily_releases_stay_in_order_where_a_whole_day_is_skipped():
    releases = propose_releases(local("2011-12-29 12:00"), "Pacific/Apia", 4, 1)
    assert [release.at for release in releases] == [
        utc("2011-12-29 22:00"),
        utc("2011-12-30 22:00"),
        utc("2011-12-30 22:01"),
        utc("2011-12-31 22:00"),
    ]


def test_no_change_is_an_ordinary_day():
    assert wall_time_kind(local("2026-06-01 01:30"), "Europe/Lisbon") is WallTime.EXISTS
    release = to_release(local("2026-06-01 01:30"), "Europe/Lisbon")
    assert release.moved_by == timedelta(0)
