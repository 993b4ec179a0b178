"""What a process holds of the ledger while it sends, and what it writes back.

A process claims rows by a conditional update, so two never send the same one. Those that the mail
server took are marked sent together, and never more than MOST_UNMARKED mails are sent or under way
whose rows do not say so. So many at most a process that dies has sent without a trace; they go out
once more, with the same Message-ID, when the claim has run out: at least once. Under a rate limit
each mail is marked before the next is sent.
"""

import secrets
import time
from collections.abc import Sequence
from datetime import datetime, timedelta

from schedule.models import Notice
from schedule.models.notice import NoticeQuerySet

CLAIM_AT_ONCE = 100  # rows a stopped process can leave claimed; our choice
CLAIM_FOR = timedelta(minutes=5)
# Our choice: half of it is written at once while the other half is under way, and no more than
# that is repeated after a crash, one mail in a hundred of a fan-out to 5,000.
MOST_UNMARKED = 50
MARK_WITHIN = 1.0  # seconds
# Our choice. A refusal for good (5yz in RFC 5321, 4.2.1) is retried too: servers give it for
# sending too fast as well, and six tries over nine hours annoy nobody.
BACK_OFF = tuple(timedelta(minutes=minutes) for minutes in (1, 5, 30, 120, 360))
MOST_ATTEMPTS = len(BACK_OFF) + 1


def claim_batch(now: datetime, most: int = CLAIM_AT_ONCE) -> list[Notice]:
    """Claim up to `most` due notices for this process and return them, oldest first."""
    due = list(Notice.objects.unsent(now).values_list("pk", flat=True)[:most])
    if not due:
        return []
    claim = secrets.token_hex(16)
    Notice.objects.unsent(now).filter(pk__in=due).update(claim=claim, claimed_until=now + CLAIM_FOR)
    return list(Notice.objects.filter(claim=claim, pk__in=due).for_mail())


def mine(notices: Sequence[Notice]) -> NoticeQuerySet:
    """These rows, as long as this process's claim on them stands."""
    pks, claims = [notice.pk for notice in notices], {notice.claim for notice in notices}
    return Notice.objects.filter(pk__in=pks, claim__in=claims)


class Sent:
    """Mails that the server took and whose rows are not marked yet."""

    def __init__(self) -> None:
        self._notices: list[Notice] = []
        self._since = 0.0

    def __len__(self) -> int:
        return len(self._notices)

    @property
    def are_old(self) -> bool:
        return bool(self._notices) and time.monotonic() - self._since >= MARK_WITHIN

    def add(self, notice: Notice) -> None:
        if not self._notices:
            self._since = time.monotonic()
        self._notices.append(notice)

    def mark(self, *, now: datetime) -> None:
        if self._notices:
            mine(self._notices).update(sent_at=now, claimed_until=None, error="")
            self._notices = []


def put_off_failed(notice: Notice, reason: str, *, now: datetime) -> bool:
    """Put the notice off with the reason; False when that was its last attempt: it is given up."""
    attempts = notice.attempts + 1
    is_last = attempts >= MOST_ATTEMPTS
    then = {"gave_up_at": now} if is_last else {"try_after": now + BACK_OFF[attempts - 1]}
    mine([notice]).update(attempts=attempts, claimed_until=None, error=reason, **then)
    return not is_last


def give_up(notices: Sequence[Notice], reason: str, *, now: datetime) -> None:
    mine(notices).update(gave_up_at=now, claimed_until=None, error=reason)


def put_off(notices: Sequence[Notice], reason: str, *, now: datetime) -> None:
    """Let claimed rows go unsent with the reason shown; no attempt of theirs is used up."""
    if notices:
        mine(notices).update(try_after=now + BACK_OFF[0], claimed_until=None, error=reason)


def release(notices: Sequence[Notice]) -> None:
    """Let claimed rows go unsent, to be claimed again at once."""
    if notices:
        mine(notices).update(claimed_until=None)
