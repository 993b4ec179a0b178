"""One sweep: announce what has come out, then send what is due. Safe to run twice, or at once."""

from datetime import datetime

from schedule.notices.delivery import Clock, Tally, deliver_due
from schedule.notices.ledger import announce_due


def sweep(*, clock: Clock, until: datetime | None = None) -> Tally:
    """Announce and send everything due, stopping at `until` if given; return what was done."""
    tally = Tally(announced=announce_due(clock()))
    deliver_due(tally, clock=clock, until=until)
    return tally
