"""Where the clocks of a zone change between two instants (daylight saving or a new standard time).

Source of every change: the tz database, by way of `zoneinfo`.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

DAY, SECOND = timedelta(days=1), timedelta(seconds=1)


@dataclass(frozen=True)
class ClockChange:
    """The local day on which the clocks change, and how far they go: forward is positive."""

    day: date
    by: timedelta


def clock_change(start: datetime, end: datetime, zone: str) -> ClockChange | None:
    """Return the last change between the aware instants `start` < `end`, None if they agree.

    `by` is the sum over the span, so a change that another takes back counts as none.
    """
    tz = ZoneInfo(zone)
    by = _offset(end, tz) - _offset(start, tz)
    if not by:
        return None
    after = before = end.astimezone(UTC)
    while _offset(before, tz) == _offset(end, tz):
        after, before = before, max(before - DAY, start.astimezone(UTC))
    while after - before > SECOND:
        middle = before + (after - before) / 2
        if _offset(middle, tz) == _offset(end, tz):
            after = middle
        else:
            before = middle
    return ClockChange(day=before.astimezone(tz).date(), by=by)


def _offset(instant: datetime, tz: ZoneInfo) -> timedelta:
    return instant.astimezone(tz).utcoffset() or timedelta(0)
