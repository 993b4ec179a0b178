"""Time the fan-out of notices against bare smtplib over one open connection, as a ratio.

    python -m benchmarks.fan_out [turns]

Both send mails of the same bytes, to the same SMTP server in a process of its own (aiosmtpd, which
takes each mail and forgets it), over one connection each. They take many short turns within one
run, in changing order, so that what else the machine does meets both alike. The yardstick,
`smtplib.SMTP.sendmail`, is handed bytes made beforehand; the fan-out reads the ledger, words each
mail, and records that it was sent, on a database of its own.
"""

import multiprocessing
import smtplib
import statistics
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from multiprocessing.synchronize import Event

import benchmarks.site  # noqa: F401  sets Django up before its models are imported

# isort: split
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session
from django.conf import settings
from django.test.utils import override_settings
from django.utils import timezone

from benchmarks.own_database import own_database
from kal.models import KnitAlong, Participant, User
from schedule.models import Clue, Notice, Revision
from schedule.notices.delivery import Tally, deliver_due
from schedule.notices.emails import notice_email
from schedule.notices.ledger import announce_clue
from tests.smtp_sink import free_port

NOTICES = 250  # of one turn
TURNS = 21
NOW = datetime.now(UTC)


class Taker:
    """Takes every mail, keeps none."""

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:
        return "250 taken"


def serve(port: int, is_up: Event, is_over: Event) -> None:
    controller = Controller(Taker(), hostname="127.0.0.1", port=port)
    controller.start()
    is_up.set()
    is_over.wait()
    controller.stop()


@contextmanager
def mail_server() -> Iterator[int]:
    """Run the server in a process of its own; yield its port."""
    fresh = multiprocessing.get_context("spawn")
    port, is_up, is_over = free_port(), fresh.Event(), fresh.Event()
    process = fresh.Process(target=serve, args=(port, is_up, is_over))
    process.start()
    is_up.wait(30)
    try:
        yield port
    finally:
        is_over.set()
        process.join()


def fill(count: int) -> Clue:
    """Store a clue that is out and `count` participants who want mail."""
    knit_along = KnitAlong.objects.create(
        slug="harbour",
        title="Harbour Lights",
        zone="Europe/Lisbon",
        sign_up_opens_at=NOW - timedelta(days=90),
        sign_up_closes_at=NOW + timedelta(days=90),
        cast_on_at=NOW - timedelta(days=60),
    )
    clue = Clue.objects.create(
        knit_along=knit_along, number=1, title="Wall", release_at=NOW, ready_at=NOW
    )
    Revision.objects.create(clue=clue, number=1, body="Cast on.", saved_at=NOW)
    users = User.objects.bulk_create(
        User(email=f"kit{number}@knitters.example", name=f"Kit {number}") for number in range(count)
    )
    Participant.objects.bulk_create(Participant(user=user, knit_along=knit_along) for user in users)
    return clue


def made_beforehand() -> list[tuple[str, bytes]]:
    """Return address and bytes of every mail the ledger owes."""
    mails = [notice_email(notice) for notice in Notice.objects.for_mail()]
    return [(mail.to[0], mail.as_bytes()) for mail in mails]


def time_bare(port: int, mails: list[tuple[str, bytes]]) -> float:
    with smtplib.SMTP("127.0.0.1", port) as connection:
        connection.ehlo()
        start = time.perf_counter()
        for address, content in mails:
            connection.sendmail(settings.DEFAULT_FROM_EMAIL, [address], content)
        return time.perf_counter() - start


def time_fan_out(count: int) -> float:
    Notice.objects.update(sent_at=None, claim="", claimed_until=None)
    tally = Tally()
    start = time.perf_counter()
    deliver_due(tally, clock=timezone.now)
    taken = time.perf_counter() - start
    assert tally.sent == count, tally
    return taken


def main(arguments: list[str]) -> None:
    turns = int(arguments[0]) if arguments else TURNS
    with mail_server() as port, own_database():
        backend = {
            "BACKEND": "schedule.notices.smtp.EmailBackend",
            "OPTIONS": {"host": "127.0.0.1", "port": port, "timeout": 30},
        }
        with override_settings(MAILERS={"default": backend}, MAIL_CONNECTIONS=1):
            announce_clue(fill(NOTICES), now=NOW)
            mails = made_beforehand()
            taken = [take_turn(port, mails, is_first=turn % 2 == 0) for turn in range(turns + 1)]
    pairs = taken[1:]  # the first turn loads what both need
    low, ratio, high = statistics.quantiles([bare / ours for bare, ours in pairs], n=4)
    bare, ours = (statistics.median(times) / NOTICES * 1000 for times in zip(*pairs, strict=True))
    print(
        f"{turns} turns of {NOTICES} notices over one connection: bare smtplib {bare:.2f} ms a "
        f"mail, fan-out {ours:.2f} ms; fan-out at {ratio:.0%} of bare, the median "
        f"(half of the turns {low:.0%} to {high:.0%})"
    )


def take_turn(port: int, mails: list[tuple[str, bytes]], *, is_first: bool) -> tuple[float, float]:
    """Return the seconds that bare smtplib took and the fan-out did."""
    if is_first:
        return time_bare(port, mails), time_fan_out(len(mails))
    ours = time_fan_out(len(mails))
    return time_bare(port, mails), ours


if __name__ == "__main__":
    main(sys.argv[1:])
