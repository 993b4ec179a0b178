"""Sending what the ledger owes, in batches over a few kept-open connections."""

from collections import deque
from collections.abc import Callable
from dataclasses import asdict, dataclass, field
from datetime import datetime, timedelta

from django.conf import settings
from django.utils.translation import gettext_noop

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
type Claimed = tuple[Notice, datetime]  # with the instant by which it must be begun

# One mail takes at most a few of the connection's 30 s timeouts; past this none is begun.
SEND_FOR = CLAIM_FOR - timedelta(minutes=3)
# Mails a connection finds ready, so that it goes on sending while the ledger is written or the next
# batch is claimed; our choice: the rest of those that may be unmarked.
WORDED_AHEAD = MOST_UNMARKED // 2
NOT_WANTED = gettext_noop(
    "They had left, turned mail off or changed their role before it was sent."
)


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
        Delivery(tally, clock, until, senders).deliver_all()


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
    to_send: deque[Claimed] = field(default_factory=deque)
    left_over: list[Notice] = field(default_factory=list)
    sent: Sent = field(default_factory=Sent)
    under_way: int = 0
    is_more: bool = True

    def deliver_all(self) -> None:
        """Send batch after batch; what is not begun in time or cannot be sent now is let go."""
        most_unmarked = 1 if most_a_minute() else MOST_UNMARKED
        try:
            while self._has_claimed() or self.under_way:
                while self.to_send and self._may_send_more(most_unmarked):
                    self._begin_next()
                if self.under_way and (outcome := self.senders.outcome(within=MARK_WITHIN)):
                    self.under_way -= 1
                    self._record(outcome)
                if len(self.sent) * 2 >= most_unmarked or self.sent.are_old or not self.under_way:
                    self.sent.mark(now=self.clock())
                if not self.under_way:
                    self._let_go()
        finally:
            self.sent.mark(now=self.clock())
        if self._is_over and not self.tally.problem and self.tally.go_on_at is None:
            now = self.clock()
            self.tally.go_on_at = now if Notice.objects.unsent(now).exists() else None

    @property
    def _is_over(self) -> bool:
        return self.until is not None and self.clock() >= self.until

    def _has_claimed(self) -> bool:
        """Claim the next batch before the last runs out; return whether there is any to send."""
        # Within a limit there is time to claim, and no reason to hold more than the next few.
        enough = 0 if most_a_minute() else WORDED_AHEAD
        while self.is_more and len(self.to_send) <= enough:
            if self._is_over or self.tally.problem or self.tally.go_on_at is not None:
                break
            batch = claim_batch(self.clock(), batch_size())
            self.is_more = bool(batch)
            begin_by = self.clock() + SEND_FOR
            self.to_send += [(notice, begin_by) for notice in self._wanted(batch)]
        return bool(self.to_send)

    def _may_send_more(self, most_unmarked: int) -> bool:
        unmarked = self.under_way + len(self.sent)
        return self.under_way < WORDED_AHEAD and unmarked < most_unmarked

    def _begin_next(self) -> None:
        notice, begin_by = self.to_send[0]
        if self._may_begin(begin_by):
            self.to_send.popleft()
            mail = notice_email(notice, self.wordings)
            self.senders.send(notice, mail, begin_by=begin_by)
            self.under_way += 1
        else:
            self.left_over += [notice for notice, _ in self.to_send]
            self.to_send.clear()

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

    def _record(self, outcome: Outcome) -> None:
        """Record what came of one mail."""
        if not outcome.is_tried:
            if outcome.error:
                self.tally.problem = reason_of(outcome.error)
            self.left_over.append(outcome.notice)
        elif outcome.error is None:
            self.sent.add(outcome.notice)
            self.tally.sent += 1
        elif not isinstance(outcome.error, OSError | ValueError):  # smtplib's are OSErrors
            raise outcome.error
        elif put_off_failed(outcome.notice, reason_of(outcome.error), now=self.clock()):
            self.tally.retrying += 1
        else:
            self.tally.given_up += 1

    def _let_go(self) -> None:
        if self.tally.problem:
            put_off(self.left_over, self.tally.problem, now=self.clock())
        else:
            release(self.left_over)
        self.left_over = []


def reason_of(error: Exception) -> str:
    """Return an error as one short line, with the server's own words where it gave any."""
    text = " ".join(str(error).split()) or type(error).__name__
    return text[:300]
