"""What a clock on the wall says, and the instant it means.

Source for gaps and repeats: PEP 495, Local Time Disambiguation.
"""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

REPEATED_HOUR_CHOICE = _(
    "Where clocks go back and an hour comes twice, the first of the two is meant."
)


class NoSuchWallTime(ValueError):
    """The clocks of the zone skip the time; the message is fit to show."""


def instant_of(wall: datetime, zone: ZoneInfo) -> datetime:
    """Return the UTC instant at which clocks in `zone` show `wall`, a naive datetime.

    A time that comes twice means its first coming, our choice, so that nobody waits an hour
    longer than the clock said. One that never comes raises NoSuchWallTime.
    """
    instant = wall.replace(tzinfo=zone, fold=0).astimezone(UTC)
    if wall_of(instant, zone) != wall.replace(fold=0):
        raise NoSuchWallTime(
            gettext(
                "{time} on {day} does not exist in {zone}: the clocks skip it when they go "
                "forward. Choose a time an hour earlier or later."
            ).format(time=f"{wall:%H:%M}", day=date_format(wall, "j F Y"), zone=zone.key)
        )
    return instant


def wall_of(instant: datetime, zone: ZoneInfo) -> datetime:
    """Return what clocks in `zone` show at an instant, as a naive datetime."""
    return instant.astimezone(zone).replace(tzinfo=None, fold=0)
