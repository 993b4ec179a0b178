"""A fan-out whose worker is killed again and again, while the mail server refuses and drops."""

import random
import signal
import time
from collections import Counter
from dataclasses import dataclass
from email.message import EmailMessage

from tests.site_process import Site
from tests.smtp_sink import Sink

SEED = 20270301
REFUSED_FOR_GOOD = 3  # people whose mailbox is gone
# Out of a thousand mails; our choice, far worse than a server that anybody keeps using.
TROUBLES = {"451 try later": 10, "550 not today": 5, "drop": 5, "stall": 1, "lose": 2}
SET_UP = """
from datetime import timedelta
from django.utils import timezone
from kal.models import Participant, User
from schedule.tasks import sweep_at
from tests.builders import make_clue, make_knit_along
knit_along = make_knit_along(cast_on_at=timezone.now() - timedelta(minutes=1))
users = User.objects.bulk_create(
    User(email=f"kit{{n}}@knitters.example", name=f"Kit {{n}}") for n in range({people})
)
Participant.objects.bulk_create(Participant(user=user, knit_along=knit_along) for user in users)
make_clue(knit_along)
# One for each worker to begin with: what a killed one had in hand is nobody's any more.
for _ in range({kills}):
    sweep_at(timezone.now())
"""
# Rather than wait for minutes: what dead workers claimed and what was put off is due now.
HURRY = """
from django.utils import timezone
from schedule.models import Notice
now = timezone.now()
Notice.objects.filter(sent_at=None, gave_up_at=None).update(claimed_until=None, try_after=now)
print(Notice.objects.filter(sent_at=None, gave_up_at=None).count())
"""
ENDED = """
from schedule.models import Notice
rows = Notice.objects.filter(gave_up_at__isnull=False)
print([(n.participant.user.email, n.attempts, n.error) for n in rows])
"""


@dataclass(frozen=True)
class Report:
    """What came of it; `unacknowledged` mails the server took without saying so."""

    told: Counter[str]
    ids: dict[str, set[str]]
    kills: int
    unacknowledged: int
    given_up: str

    @property
    def duplicates(self) -> int:
        return sum(self.told.values()) - len(self.told)


class Troubled:
    """The mail server's moods, by chance of a seed; a few mailboxes are gone for good."""

    def __init__(self, dice: random.Random) -> None:
        self.dice = dice
        self.unacknowledged = 0

    def __call__(self, mail: EmailMessage) -> str | None:
        number = int(str(mail["To"]).removeprefix("kit").partition("@")[0])
        if number < REFUSED_FOR_GOOD:
            return "550 no such mailbox"
        place = self.dice.randrange(1000)
        for reply, share in TROUBLES.items():
            if place < share:
                self.unacknowledged += reply == "lose"
                return reply
            place -= share
        return None


def kill_and_go_on(site: Site, sink: Sink, *, people: int, kills: int) -> Report:
    """Fan out to so many people, killing the worker at so many random points; then finish."""
    dice = random.Random(SEED)
    site.run("migrate", "--verbosity=0")
    site.shell(SET_UP.format(people=people, kills=kills))
    sink.stall_for, sink.answer = 1.5, (moods := Troubled(random.Random(SEED + 1)))
    points = sorted(dice.sample(range(1, people), kills))
    for point in points:
        worker = site.start("db_worker", "--interval=0.05", "--no-startup-delay")
        wait_until_taken(sink, point, worker.poll)
        time.sleep(dice.random() / 50)
        worker.send_signal(signal.SIGKILL)
        worker.wait()
    while int(site.shell(HURRY)):
        site.start("send_notices").wait()
    told = Counter(sink.told())
    ids: dict[str, set[str]] = {address: set() for address in told}
    for mail in sink.mails:
        ids[str(mail["To"])].add(str(mail["Message-ID"]))
    return Report(told, ids, kills, moods.unacknowledged, site.shell(ENDED).strip())


def wait_until_taken(sink: Sink, count: int, poll: object) -> None:
    """Wait until so many mails came, or for as long as more do."""
    last, since = len(sink.mails), time.monotonic()
    while len(sink.mails) < count and time.monotonic() - since < 10:
        if len(sink.mails) != last:
            last, since = len(sink.mails), time.monotonic()
        time.sleep(0.002)
