"""Which time zones are offered, and which older names still lead to one.

Checked against the tz database of the IANA as the tzdata package carries it: `zone.tab` names the
zones to choose from, and `backward` the links from older names (RFC 6557 says who keeps it).
"""

from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

import pytest

from kal.zones import current_name, is_zone, zone_choices, zone_names

INSTANTS = [datetime(2026, 1, 1, tzinfo=UTC) + timedelta(days=7 * week) for week in range(104)]


@pytest.mark.parametrize(
    ("old", "name"),
    [
        ("US/Pacific", "America/Los_Angeles"),
        ("Asia/Calcutta", "Asia/Kolkata"),
        ("Asia/Katmandu", "Asia/Kathmandu"),
        ("Europe/Kiev", "Europe/Kyiv"),
        ("America/Buenos_Aires", "America/Argentina/Buenos_Aires"),
    ],
)
def test_an_older_name_is_not_offered_beside_the_new_one(old, name):
    assert old not in zone_names()
    assert name in zone_names()
    assert current_name(old) == name


@pytest.mark.parametrize("name", ["Europe/Oslo", "Atlantic/Reykjavik", "America/Montserrat"])
def test_a_country_whose_clocks_are_another_s_has_its_own_name(name):
    """The database itself makes these links to Berlin, Abidjan and Puerto Rico."""
    assert name in zone_names()
    assert current_name(name) == name


@pytest.mark.parametrize("name", ["Iceland", "GB", "America/Montreal"])
def test_an_older_name_that_may_mean_several_is_left_as_it_is(name):
    assert is_zone(name)
    assert current_name(name) == name


def test_no_clock_changes_with_its_name():
    moved = {old for old in available_timezones() if current_name(old) != old}
    assert len(moved) > 50
    for old in moved:
        before, after = ZoneInfo(old), ZoneInfo(current_name(old))
        assert [at.astimezone(before).utcoffset() for at in INSTANTS] == [
            at.astimezone(after).utcoffset() for at in INSTANTS
        ]


def test_every_name_is_offered_once_under_its_region():
    regions: dict[str, Any] = dict(zone_choices()[1:])
    offered = [name for places in regions.values() for name, _label in places]
    assert [*offered, "UTC"] == list(zone_names())
    assert not regions.keys() & {"US", "Etc", "Canada", "Brazil"}
    assert ("America/Argentina/Salta", "Argentina, Salta") in regions["America"]
