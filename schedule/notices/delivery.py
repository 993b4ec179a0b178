"""Sending what the ledger owes, in batches over a few kept-open connections."""

from collections import deque
from collections.abc import Callable
from dataclasses import asdict, dataclass, field
from datetime import datetime, timedelta

from django.conf import settings

from schedule.models import Notice
from schedule.notices.claims import (
    CLAIM_AT_ONCE,
    CLAIM_FOR,
    MARK_WITHIN,
    MOST_UNMARKED,
    Sent,
    claim_batch,
    give_up,
    put_off,
    put_off_failed,
    release,
)
from schedule.notices.emails import notice_email
from schedule.notices.pace import most_a_minute, wait_for_turn
from schedule.notices.senders import Outcome, Senders
from schedule.notices.wording import Wordings

type Clock = Callable[[], datetime]

# One mail takes at most a few of the connection's 30 s timeouts; past this none is begun.
SEND_FOR = CLAIM_FOR - timedelta(minutes=3)
# Mails a connection finds ready; our choice. Wording more at a stretch would keep the connections'
# threads from the processor.
WORDED_AHEAD = 4
NOT_WANTED = "They had left, turned mail off or changed their role before it was sent."


@dataclass
class Tally:
    """What one sweep did, in notices; `problem` is why the mail server could not be reached.

    A sweep that stopped with notices left over says in `go_on_at` when the next may go on.
    """

    announced: int = 0
    sent: int = 0
    retrying: int = 0
    given_up: int = 0
    not_wanted: int = 0
    problem: str = ""
    go_on_at: datetime | None = None

    @property
    def counts(self) -> dict[str, int]:
        return {name: value for name, value in asdict(self).items() if type(value) is int}


def deliver_due(tally: Tally, *, clock: Clock, until: datetime | None = None) -> None:
    """Send every notice that is due, counting in `tally`; stop at `until` if given."""
    with Senders(settings.MAIL_CONNECTIONS) as senders:
        delivery = Delivery(tally, clock, until, senders)
        while delivery.goes_on and (batch := claim_batch(clock(), batch_size())):
            delivery.deliver_batch(batch)


def batch_size() -> int:
    """Return how many to claim: with a limit, what ten seconds of it allow."""
    limit = most_a_minute()
    return min(CLAIM_AT_ONCE, max(1, limit // 6)) if limit else CLAIM_AT_ONCE


@dataclass
class Delivery:
    """One process's way through what is due."""

    tally: Tally
    clock: Clock
    until: datetime | None
    senders: Senders
    wordings: Wordings = field(default_factory=Wordings)

    @property
    def goes_on(self) -> bool:
        now = self.clock()
        if self.until is not None and now >= self.until and self.tally.go_on_at is None:
            self.tally.go_on_at = now if Notice.objects.unsent(now).exists() else None
            return False
        return not self.tally.problem and self.tally.go_on_at is None

    def deliver_batch(self, batch: list[Notice]) -> None:
        """Send one claimed batch; what is not begun in time or cannot be sent now is let go."""
        begin_by = self.clock() + SEND_FOR
        to_send, left_over = deque(self._wanted(batch)), list[Notice]()
        most_unmarked = 1 if most_a_minute() else MOST_UNMARKED
        most_ahead = WORDED_AHEAD * max(1, settings.MAIL_CONNECTIONS)
        sent, under_way = Sent(), 0
        try:
            while to_send or under_way:
                while to_send and under_way < most_ahead and under_way + len(sent) < most_unmarked:
                    if self._may_begin(begin_by):
                        self._begin(to_send.popleft(), begin_by)
                        under_way += 1
                    else:
                        left_over += to_send
                        to_send.clear()
                if under_way and (outcome := self.senders.outcome(within=MARK_WITHIN)):
                    under_way -= 1
                    if not self._record(outcome, sent):
                        left_over.append(outcome.notice)
                if len(sent) * 2 >= most_unmarked or sent.are_old or not under_way:
                    sent.mark(now=self.clock())
        finally:
            sent.mark(now=self.clock())
        self._let_go(left_over)

    def _wanted(self, batch: list[Notice]) -> list[Notice]:
        """Return those that are to be sent; the others are given up."""
        unwanted = [notice for notice in batch if not notice.is_wanted]
        if unwanted:
            give_up(unwanted, NOT_WANTED, now=self.clock())
            self.tally.not_wanted += len(unwanted)
        return [notice for notice in batch if notice.is_wanted]

    def _may_begin(self, begin_by: datetime) -> bool:
        """Wait for this process's turn; False when that comes too late, or the server is away."""
        if self.tally.problem or self.clock() >= begin_by:
            return False
        latest = min(begin_by, self.until) if self.until else begin_by
        self.tally.go_on_at = wait_for_turn(clock=self.clock, latest=latest)
        return self.tally.go_on_at is None

    def _begin(self, notice: Notice, begin_by: datetime) -> None:
        self.senders.send(notice, notice_email(notice, self.wordings), begin_by=begin_by)

    def _record(self, outcome: Outcome, sent: Sent) -> bool:
        """Record what came of one mail; False when it was not tried."""
        if not outcome.is_tried:
            if outcome.error:
                self.tally.problem = reason_of(outcome.error)
            return False
        if outcome.error is None:
            sent.add(outcome.notice)
            self.tally.sent += 1
        elif not isinstance(outcome.error, OSError | ValueError):  # smtplib's are OSErrors
            raise outcome.error
        elif put_off_failed(outcome.notice, reason_of(outcome.error), now=self.clock()):
            self.tally.retrying += 1
        else:
            self.tally.given_up += 1
        return True

    def _let_go(self, notices: list[Notice]) -> None:
        if self.tally.problem:
            put_off(notices, self.tally.problem, now=self.clock())
        else:
            release(notices)


def reason_of(error: Exception) -> str:
    """Return an error as one short line, with the server's own words where it gave any."""
    text = " ".join(str(error).split()) or type(error).__name__
    return text[:300]
