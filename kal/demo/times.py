"""When the demo's knit-alongs happen, reckoned from the moment it starts."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import product
from zoneinfo import ZoneInfo

from schedule.pattern.calendar import propose_releases, to_local, to_release

MINUTES_UNTIL_CLUE = 4
CLUES = 6
# Together these zones change their clocks in February or March, April, September, October and
# November; with clues up to three weeks apart some change falls into every knit-along.
ZONES = (
    "Europe/Lisbon",
    "America/Halifax",
    "Australia/Hobart",
    "Pacific/Auckland",
    "America/Santiago",
    "Africa/Cairo",
)
CADENCES = (7, 14, 21)  # days; weekly is what a host would choose, so it is tried first
# The coming clue is neither the first nor the last: there is a past to read and a future to hide.
PLACES = (3, 4, 2, 5)


@dataclass(frozen=True, slots=True)
class Rhythm:
    """The running knit-along's clock: its zone, cadence, and every clue's instant in UTC."""

    zone: str
    cadence_days: int
    coming: int
    instants: tuple[datetime, ...]

    @property
    def crosses_a_change(self) -> bool:
        """Whether the zone's clocks change between the first clue and the last."""
        tz = ZoneInfo(self.zone)
        return len({instant.astimezone(tz).utcoffset() for instant in self.instants}) > 1


def running_rhythm(now: datetime) -> Rhythm:
    """Return the first rhythm, weekly if possible, that crosses a daylight-saving change."""
    return next((r for r in rhythms(now) if r.crosses_a_change), next(rhythms(now)))


def rhythms(now: datetime) -> Iterator[Rhythm]:
    """Yield every rhythm that puts a clue a few minutes after `now`, best liked first."""
    due = round_up_to_minute(now) + timedelta(minutes=MINUTES_UNTIL_CLUE)
    for cadence, place, zone in product(CADENCES, PLACES, ZONES):
        first = to_local(due, zone) - timedelta(days=cadence * (place - 1))
        instants = tuple(release.at for release in propose_releases(first, zone, CLUES, cadence))
        # In the hour that comes twice the schedule means the first, which may be over.
        if instants[place - 1] == due:
            yield Rhythm(zone, cadence, place, instants)


def round_up_to_minute(moment: datetime) -> datetime:
    """Return the first whole minute at or after the moment."""
    floor = moment.replace(second=0, microsecond=0)
    return floor if floor == moment else floor + timedelta(minutes=1)


def noon(zone: str, day: datetime) -> datetime:
    """Return the instant of noon in `zone` on the day that `day` falls on there."""
    local = to_local(day, zone).replace(hour=12, minute=0, second=0, microsecond=0)
    return to_release(local, zone).at
