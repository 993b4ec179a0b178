"""One sweep: announce what has come out, alert the hosts, then send what is due.

Safe to run twice, or at once.
"""

from datetime import datetime

from schedule.notices.alerts import raise_alerts
from schedule.notices.delivery import Clock, Tally, deliver_due
from schedule.notices.ledger import announce_due


def sweep(*, clock: Clock, until: datetime | None = None) -> Tally:
    """Announce, alert and send everything due, stopping at `until` if given; return what was done.

    An alert that cannot be written must not keep a clue's own mail back, so it comes second.
    """
    tally = Tally(announced=announce_due(clock()))
    raise_alerts(clock())
    deliver_due(tally, clock=clock, until=until)
    return tally
