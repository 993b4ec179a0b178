"""Instants, spans and changes of the clocks in words."""

from datetime import UTC, datetime, timedelta

import pytest

from schedule.clock_words import (
    clock_notes,
    countdown_words,
    instant_words,
    shift_words,
    span_words,
)

NOW = datetime(2027, 3, 1, 12, tzinfo=UTC)


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


@pytest.mark.parametrize(
    ("span", "words"),
    [
        (timedelta(days=6, hours=23), "6 days 23 hours"),
        (timedelta(days=7), "7 days"),
        (timedelta(days=1, hours=1, minutes=1), "1 day 1 hour 1 minute"),
        (timedelta(minutes=59, seconds=59), "59 minutes"),
    ],
)
def test_a_span_is_its_days_hours_and_minutes(span, words):
    assert span_words(span) == words


@pytest.mark.parametrize(
    ("left", "words"),
    [
        (timedelta(days=3, hours=4, minutes=59), "in 3 days 4 hours"),
        (timedelta(days=1), "in 1 day"),
        (timedelta(days=1) - timedelta(seconds=1), "in 23 hours 59 minutes"),
        (timedelta(hours=2), "in 2 hours"),
        (timedelta(minutes=1), "in 1 minute"),
        (timedelta(seconds=59), "in less than a minute"),
        (timedelta(seconds=1), "in less than a minute"),
        (timedelta(0), ""),
        (timedelta(seconds=-1), ""),
    ],
)
def test_a_countdown_says_its_two_largest_units(left, words):
    assert countdown_words(NOW, NOW + left) == words


def test_a_move_says_how_far():
    assert shift_words(NOW, NOW + timedelta(days=7)) == "7 days later"
    assert shift_words(NOW, NOW - timedelta(hours=2)) == "2 hours earlier"


def test_the_organisers_clock_stands_beside_the_readers():
    words = instant_words(NOW, "Asia/Tokyo", beside="Europe/Lisbon")
    assert words == "Monday 1 March 2027, 21:00 (Monday 1 March, 12:00 in Europe/Lisbon)"
    assert instant_words(NOW, "Europe/London", beside="Europe/Lisbon") == (
        "Monday 1 March 2027, 12:00"
    )
    assert instant_words(NOW, "Asia/Tokyo") == "Monday 1 March 2027, 21:00 (Asia/Tokyo)"


# A weekly clue at noon in Lisbon, whose clocks go forward on 28 March 2027.
WEEK = utc("2027-03-21 12:00"), utc("2027-03-28 11:00")


def test_the_same_local_hour_is_fewer_hours_on():
    (note,) = clock_notes(*WEEK, zone="Europe/Lisbon", reader="Europe/Lisbon")
    assert note == (
        "Clocks go forward on 28 March: the clue goes out at the same local hour, which is "
        "6 days 23 hours after the one before."
    )


def test_whose_clocks_change_together_read_the_same():
    notes = clock_notes(*WEEK, zone="Europe/Lisbon", reader="Europe/Helsinki")
    assert notes == clock_notes(*WEEK, zone="Europe/Lisbon", reader="Europe/Lisbon")


def test_going_back_is_said_as_going_back():
    before, at = utc("2027-10-24 11:00"), utc("2027-10-31 12:00")
    (note,) = clock_notes(before, at, zone="Europe/Lisbon", reader="Europe/Lisbon")
    assert note.startswith("Clocks go back on 31 October")
    assert "7 days 1 hour after" in note


@pytest.mark.parametrize(
    ("reader", "now", "then"),
    [("Asia/Tokyo", "20:00", "21:00"), ("America/Halifax", "08:00", "09:00")],
)
def test_a_reader_whose_clocks_do_not_change_that_day_learns_the_new_hour(reader, now, then):
    (note,) = clock_notes(*WEEK, zone="Europe/Lisbon", reader=reader)
    assert note == (
        f"By your clock it comes at {now}, where the clue before came at {then}: the clocks in "
        "Europe/Lisbon and yours do not change on the same day."
    )


def test_a_clue_hand_set_to_another_hour_needs_no_note():
    before, at = utc("2027-03-21 12:00"), utc("2027-03-28 15:00")
    assert clock_notes(before, at, zone="Europe/Lisbon", reader="Asia/Tokyo") == []


def test_an_ordinary_week_needs_no_note():
    before, at = utc("2027-05-03 12:00"), utc("2027-05-10 12:00")
    for reader in ("Europe/Lisbon", "Asia/Tokyo", "Australia/Hobart"):
        assert clock_notes(before, at, zone="Europe/Lisbon", reader=reader) == []


@pytest.mark.parametrize(("hour", "which"), [("00:30", "first"), ("01:30", "second")])
def test_an_hour_that_comes_twice_for_the_reader_says_which(hour, which):
    """In Lisbon 01:00 to 02:00 comes twice on 31 October 2027 (tz database, file europe)."""
    notes = clock_notes(None, utc(f"2027-10-31 {hour}"), zone="Asia/Tokyo", reader="Europe/Lisbon")
    assert notes == [f"01:30 comes twice on 31 October in Europe/Lisbon; this is the {which}."]
