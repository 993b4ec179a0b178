"""What somebody types of a clock on the wall, and the instant it means.

Wall times are read in `schedule/pattern/calendar.py`; what is typed has one rule of its own: a time
that the clocks skip is refused, where a release out of a cadence moves forward.
"""

from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from schedule.pattern.calendar import WallTime, to_local, to_release

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
    read = to_release(wall.replace(fold=0), zone.key)
    if read.kind is WallTime.GAP:
        raise NoSuchWallTime(
            gettext(
                "{time} on {day} does not exist in {zone}: the clocks skip it when they go "
                "forward. Choose a time an hour earlier or later."
            ).format(time=f"{wall:%H:%M}", day=date_format(wall, "j F Y"), zone=zone.key)
        )
    return read.at


def wall_of(instant: datetime, zone: ZoneInfo) -> datetime:
    """Return what clocks in `zone` show at an instant, as a naive datetime."""
    return to_local(instant, zone.key).replace(fold=0)
