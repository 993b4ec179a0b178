"""The host moves the last clue of the running knit-along, and says why."""

from datetime import datetime, timedelta

from kal.demo.events import Event
from kal.models import KnitAlong, User
from schedule.actions import change_schedule
from schedule.changes import Ask, Change, fingerprint

TWO_DAYS_AGO = timedelta(days=2)
REASON = "The harbour fair is on that day, and half of us will be there until the lamps go out."


def move_last_clue(event: Event, knit_along: KnitAlong, host: User, *, now: datetime) -> None:
    """Move the last clue a day later, two days ago, without mail, unless all is over."""
    clues = list(knit_along.clues.order_by("number"))
    if event.closes_palettes or event.pattern is None or clues[-1].is_released(now):
        return
    change_schedule(
        knit_along,
        Change(Ask.SHIFT, clues[-1].number, days=1),
        seen=fingerprint(clues),
        reason=REASON,
        tells=False,
        by=host,
        now=now - TWO_DAYS_AGO,
    )
