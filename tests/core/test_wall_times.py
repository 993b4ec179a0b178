"""What a wall clock says and the instant it means, in weeks when clocks change."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from kal.wall_times import NoSuchWallTime, instant_of, wall_of

LISBON, NEW_YORK, APIA = map(ZoneInfo, ("Europe/Lisbon", "America/New_York", "Pacific/Apia"))


@pytest.mark.parametrize(
    ("wall", "zone", "instant"),
    [
        ("2027-03-27T18:00", LISBON, "2027-03-27T18:00"),
        ("2027-03-28T18:00", LISBON, "2027-03-28T17:00"),
        ("2027-10-31T01:30", LISBON, "2027-10-31T00:30"),  # comes twice: the first is meant
        ("2027-11-07T01:30", NEW_YORK, "2027-11-07T05:30"),
        ("2027-11-07T02:00", NEW_YORK, "2027-11-07T07:00"),
    ],
)
def test_reads_a_wall_time_in_its_zone(wall, zone, instant):
    expected = datetime.fromisoformat(instant).replace(tzinfo=UTC)
    assert instant_of(datetime.fromisoformat(wall), zone) == expected
    assert wall_of(expected, zone) == datetime.fromisoformat(wall)


@pytest.mark.parametrize(
    ("wall", "zone"),
    [
        ("2027-03-28T01:30", LISBON),
        ("2027-03-14T02:00", NEW_YORK),
        ("2011-12-30T12:00", APIA),  # a whole day that Samoa skipped
    ],
)
def test_refuses_a_wall_time_that_never_comes(wall, zone):
    with pytest.raises(NoSuchWallTime, match="does not exist in"):
        instant_of(datetime.fromisoformat(wall), zone)


def test_the_refusal_is_one_sentence_with_the_time_and_place():
    with pytest.raises(NoSuchWallTime) as refusal:
        instant_of(datetime.fromisoformat("2027-03-28T01:30"), LISBON)
    assert str(refusal.value).startswith("01:30 on 28 March 2027 does not exist in Europe/Lisbon")
