"""Moving several releases at once: by a span, to a wall time, or to a cadence anew.

Instants are aware datetimes in UTC by clue number; wall times are naive, read in the named zone.
"""

from collections.abc import Collection, Mapping
from datetime import datetime, timedelta

from schedule.pattern.calendar import Release, propose_releases, to_local, to_release


def shift_by(
    instants: Mapping[int, datetime], zone: str, *, days: int, hours: int
) -> dict[int, Release]:
    """Return every release moved by days and hours, either of which may be negative.

    Days keep the wall time, across a change of the clocks too; hours are sixty minutes each.
    """
    return {
        number: _after(
            to_release(to_local(at, zone) + timedelta(days=days), zone) if days else None,
            at,
            timedelta(hours=hours),
            zone,
        )
        for number, at in instants.items()
    }


def _after(day_later: Release | None, at: datetime, hours: timedelta, zone: str) -> Release:
    if day_later is not None and not hours:
        return day_later
    start = day_later.at if day_later else at
    return to_release(to_local(start + hours, zone), zone)


def shift_to(
    instants: Mapping[int, datetime], zone: str, first_local: datetime
) -> dict[int, Release]:
    """Return the first release at `first_local`; the others keep their distance by the wall clock.

    A first one that the clocks push out of a skipped hour does not push those after it.
    """
    first = to_local(instants[min(instants)], zone)
    span = first_local - first
    return {
        number: to_release(
            first_local if number == min(instants) else to_local(at, zone) + span, zone
        )
        for number, at in instants.items()
    }


def repeat_from(
    numbers: Collection[int], zone: str, first_local: datetime, cadence_days: int
) -> dict[int, Release]:
    """Return releases for the numbers in order: one at `first_local`, then a cadence apart."""
    releases = propose_releases(first_local, zone, len(numbers), cadence_days)
    return dict(zip(sorted(numbers), releases, strict=True))


def next_after(latest: datetime, zone: str, cadence_days: int, *, now: datetime) -> Release:
    """Return the first release whole cadences after `latest`, at its wall time, still to come."""
    local, days = to_local(latest, zone), cadence_days
    while True:
        release = propose_releases(local, zone, 2, days)[1]
        if release.at > now:
            return release
        days += cadence_days
