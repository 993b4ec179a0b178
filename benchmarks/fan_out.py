"""Time the fan-out of notices against bare smtplib over one open connection, as a ratio.

    python -m benchmarks.fan_out [notices]

Both send mails of the same bytes, to the same SMTP server in a process of its own (aiosmtpd, which
takes each mail and forgets it), over one connection, in turns within one run. The yardstick,
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

from benchmarks.clue_page import own_database
from kal.models import KnitAlong, Participant, User
from schedule.models import Clue, Notice, Revision
from schedule.notices.delivery import Tally, deliver_due
from schedule.notices.emails import notice_email
from schedule.notices.ledger import announce_clue
from tests.smtp_sink import free_port

NOTICES = 1_000
TURNS = 5
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
    count = int(arguments[0]) if arguments else NOTICES
    with mail_server() as port, own_database():
        backend = {
            "BACKEND": "schedule.notices.smtp.EmailBackend",
            "OPTIONS": {"host": "127.0.0.1", "port": port, "timeout": 30},
        }
        with override_settings(MAILERS={"default": backend}):
            announce_clue(fill(count), now=NOW)
            mails = made_beforehand()
            pairs = [(time_bare(port, mails), time_fan_out(count)) for _ in range(TURNS)]
    ratios = sorted(bare / ours for bare, ours in pairs)
    bare, ours = (statistics.median(times) / count * 1000 for times in zip(*pairs, strict=True))
    print(
        f"{count} notices: bare smtplib {bare:.2f} ms a mail, fan-out {ours:.2f} ms; "
        f"fan-out at {statistics.median(ratios):.0%} of bare ({ratios[0]:.0%} to {ratios[-1]:.0%})"
    )


if __name__ == "__main__":
    main(sys.argv[1:])
