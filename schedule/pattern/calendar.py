"""Release instants at one wall time, right across daylight saving.

Local times are naive datetimes read in a named zone of the tz database; instants are aware
datetimes in UTC. Gaps and overlaps follow PEP 495: a wall time the clocks skip is read with the
offset before the change, so it moves forward by the gap; one that comes twice is the first.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from zoneinfo import ZoneInfo


class WallTime(StrEnum):
    """How often a wall time comes in its zone: once, never, or twice."""

    EXISTS = "exists"
    GAP = "gap"
    OVERLAP = "overlap"


@dataclass(frozen=True)
class Release:
    """An instant in UTC, the wall time it really has in its zone, and the wall time asked for."""

    at: datetime
    local: datetime
    asked: datetime
    kind: WallTime

    @property
    def moved_by(self) -> timedelta:
        """How far the clocks' change pushed it forward: zero unless the wall time is skipped."""
        return self.local - self.asked


def wall_time_kind(local: datetime, zone: str) -> WallTime:
    """Return whether the naive `local` exists once in the zone, is skipped, or comes twice."""
    first, second = (local.replace(tzinfo=ZoneInfo(zone), fold=fold) for fold in (0, 1))
    before, after = first.utcoffset(), second.utcoffset()
    if before is None or after is None or before == after:
        return WallTime.EXISTS
    return WallTime.GAP if before < after else WallTime.OVERLAP


def to_local(instant: datetime, zone: str) -> datetime:
    """Return the naive wall time of an aware instant in the zone; `fold` 1 marks a second pass."""
    return instant.astimezone(ZoneInfo(zone)).replace(tzinfo=None)


def to_release(local: datetime, zone: str) -> Release:
    """Return the release at the naive wall time `local`.

    A skipped time moves forward by the gap. Of two, it is the first unless `local.fold` is 1.
    """
    kind = wall_time_kind(local, zone)
    asked = local if kind is WallTime.OVERLAP else local.replace(fold=0)
    at = asked.replace(tzinfo=ZoneInfo(zone)).astimezone(UTC)
    return Release(at=at, local=to_local(at, zone), asked=asked, kind=kind)


def propose_releases(
    first_local: datetime, zone: str, count: int, cadence_days: int
) -> list[Release]:
    """Return `count` releases at the wall time of `first_local`, every `cadence_days` days.

    Each is counted from the first wall time, so a moved one does not move those after it.
    Instants always increase: where the clocks skip a whole day and a daily cadence would put
    two at one instant, the later goes a minute after (our choice; it last happened in 2011).
    """
    return list(_releases(first_local, zone, count, cadence_days))


def _releases(first_local: datetime, zone: str, count: int, cadence_days: int) -> Iterator[Release]:
    previous: Release | None = None
    for index in range(count):
        # Adding to a datetime forgets its fold, which only the first release may keep.
        asked = first_local + timedelta(days=index * cadence_days) if index else first_local
        release = to_release(asked, zone)
        while previous is not None and release.at <= previous.at:
            release = to_release(release.local + timedelta(minutes=1), zone)
        yield release
        previous = release
