"""No more mails a minute than KAL_MAIL_PER_MINUTE, however many processes send.

Turns are handed out evenly from one row of the database, a turn for each mail and just before it
is sent, so that no minute has more than the limit. A process that dies with a turn has wasted it;
none is used twice.
"""

import time
from collections.abc import Callable
from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction

from schedule.models import MailPace

MINUTE = timedelta(minutes=1)
# A turn further off can only mean that the clock was set back.
FARTHEST = 10 * MINUTE
sleep: Callable[[float], None] = time.sleep


def most_a_minute() -> int:
    """Return the limit, 0 for none."""
    return int(settings.MAIL_PER_MINUTE)


def wait_for_turn(*, clock: Callable[[], datetime], latest: datetime) -> datetime | None:
    """Wait until one more mail may go and return None; or, if that is later than `latest`, when."""
    if not most_a_minute():
        return None
    now = clock()
    turn, is_taken = take_turn(now, latest=latest)
    if not is_taken:
        return turn
    sleep(max(0.0, (turn - now).total_seconds()))
    return None


@transaction.atomic
def take_turn(now: datetime, *, latest: datetime) -> tuple[datetime, bool]:
    """Return when the next mail may go, and whether that turn was taken: not if after `latest`."""
    pace, _ = MailPace.objects.select_for_update().get_or_create(pk=1, defaults={"next_at": now})
    turn = now if pace.next_at > now + FARTHEST else max(pace.next_at, now)
    if turn > latest:
        return turn, False
    pace.next_at = turn + MINUTE / most_a_minute()
    pace.save(update_fields=["next_at"])
    return turn, True
