"""Sending what the ledger owes, in batches over one kept-open connection.

A process claims a batch by a conditional update, so two never send the same row; each row is
marked sent straight after the mail server took it. A crash between the two leaves at most one
mail that is sent again, with the same Message-ID, once the claim has run out: at least once.
"""

import contextlib
import secrets
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta

from django.core.mail import mailers
from django.core.mail.backends.base import BaseEmailBackend
from django.db.models import F

from schedule.models import Notice
from schedule.models.notice import NoticeQuerySet
from schedule.notices.emails import notice_email

type Clock = Callable[[], datetime]

BATCH = 20  # rows a stopped process can leave claimed; our choice
CLAIM_FOR = timedelta(minutes=5)
# One mail takes at most a few of the connection's 30 s timeouts; past this none is begun.
SEND_FOR = CLAIM_FOR - timedelta(minutes=3)
# Our choice. A refusal for good (5yz in RFC 5321, 4.2.1) is retried too: servers give it for
# sending too fast as well, and six tries over nine hours annoy nobody.
BACK_OFF = tuple(timedelta(minutes=minutes) for minutes in (1, 5, 30, 120, 360))
MOST_ATTEMPTS = len(BACK_OFF) + 1
NOT_WANTED = "They had left, turned mail off or changed their role before it was sent."


@dataclass
class Tally:
    """What one sweep did, in notices; `problem` is why the mail server could not be reached."""

    announced: int = 0
    sent: int = 0
    retrying: int = 0
    given_up: int = 0
    not_wanted: int = 0
    problem: str = ""
    is_cut_short: bool = False

    @property
    def counts(self) -> dict[str, int]:
        return {name: value for name, value in asdict(self).items() if type(value) is int}


def deliver_due(tally: Tally, *, clock: Clock, until: datetime | None = None) -> None:
    """Send every notice that is due, counting in `tally`; stop at `until` if given."""
    connection = mailers.default
    try:
        for batch in claimed_batches(clock, until, tally):
            if not deliver_batch(batch, connection, tally, clock=clock):
                return
    finally:
        close_quietly(connection)


@dataclass(frozen=True)
class Batch:
    notices: list[Notice]
    send_until: datetime


def claimed_batches(clock: Clock, until: datetime | None, tally: Tally) -> Iterator[Batch]:
    while batch := claim_batch(clock()):
        yield batch
        if until is not None and clock() >= until:
            tally.is_cut_short = Notice.objects.unsent(clock()).exists()
            return


def claim_batch(now: datetime) -> Batch | None:
    """Claim up to BATCH due notices for this process; None when nothing is due."""
    due = list(Notice.objects.unsent(now).values_list("pk", flat=True)[:BATCH])
    if not due:
        return None
    claim = secrets.token_hex(16)
    Notice.objects.unsent(now).filter(pk__in=due).update(claim=claim, claimed_until=now + CLAIM_FOR)
    claimed = list(Notice.objects.filter(claim=claim, pk__in=due).for_mail())
    return Batch(claimed, now + SEND_FOR)


def deliver_batch(
    batch: Batch, connection: BaseEmailBackend, tally: Tally, *, clock: Clock
) -> bool:
    """Send one batch; False when the server cannot be reached, with its rows let go."""
    for index, notice in enumerate(batch.notices):
        if clock() >= batch.send_until:
            release(batch.notices[index:])
            return True
        if not notice.is_wanted:
            give_up(notice, NOT_WANTED, now=clock())
            tally.not_wanted += 1
            continue
        try:
            connection.open()
        except OSError as error:
            tally.problem = reason_of(error)
            put_off(batch.notices[index:], tally.problem, now=clock())
            return False
        deliver(notice, connection, tally, clock=clock)
    return True


def deliver(notice: Notice, connection: BaseEmailBackend, tally: Tally, *, clock: Clock) -> None:
    """Send one claimed notice and record what came of it."""
    try:
        connection.send_messages([notice_email(notice)])
    except (OSError, ValueError) as error:  # every smtplib error is an OSError
        # After a broken exchange the connection cannot be trusted with the next mail.
        close_quietly(connection)
        record_failure(notice, reason_of(error), tally, now=clock())
    else:
        mine(notice).update(sent_at=clock(), claimed_until=None, error="")
        tally.sent += 1


def record_failure(notice: Notice, reason: str, tally: Tally, *, now: datetime) -> None:
    """Put the notice off with the reason, or give it up after its last attempt."""
    attempts = notice.attempts + 1
    if attempts >= MOST_ATTEMPTS:
        mine(notice).update(attempts=F("attempts") + 1)
        give_up(notice, reason, now=now)
        tally.given_up += 1
        return
    mine(notice).update(
        attempts=F("attempts") + 1,
        try_after=now + BACK_OFF[attempts - 1],
        claimed_until=None,
        error=reason,
    )
    tally.retrying += 1


def give_up(notice: Notice, reason: str, *, now: datetime) -> None:
    mine(notice).update(gave_up_at=now, claimed_until=None, error=reason)


def put_off(notices: list[Notice], reason: str, *, now: datetime) -> None:
    """Let claimed rows go unsent with the reason shown; no attempt of theirs is used up."""
    for notice in notices:
        mine(notice).update(try_after=now + BACK_OFF[0], claimed_until=None, error=reason)


def release(notices: list[Notice]) -> None:
    for notice in notices:
        mine(notice).update(claimed_until=None)


def mine(notice: Notice) -> NoticeQuerySet:
    """The row, as long as this process's claim on it stands."""
    return Notice.objects.filter(pk=notice.pk, claim=notice.claim)


def reason_of(error: Exception) -> str:
    """Return an error as one short line, with the server's own words where it gave any."""
    text = " ".join(str(error).split()) or type(error).__name__
    return text[:300]


def close_quietly(connection: BaseEmailBackend) -> None:
    # A server that has gone away cannot be said goodbye to.
    with contextlib.suppress(OSError):
        connection.close()
