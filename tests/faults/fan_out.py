"""A fan-out whose worker is killed again and again, while the mail server refuses and drops."""

import random
import time
from collections import Counter
from dataclasses import dataclass
from email.message import EmailMessage

from tests.ready_site import Forked, ready
from tests.site_process import PATIENCE, Site
from tests.smtp_sink import Sink

SEED = 20270301
REFUSED_FOR_GOOD = 3  # people whose mailbox is gone
# Out of a thousand mails; our choice, far worse than a server that anybody keeps using.
TROUBLES = {"451 try later": 10, "550 not today": 5, "drop": 5, "stall": 1, "lose": 2}
# The site waits MAIL_TIMEOUT seconds for an answer, which a busy test machine must not exceed.
MAIL_TIMEOUT, STALL_FOR = 2, 3.0
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
waiting = Notice.objects.filter(sent_at=None, gave_up_at=None)
print(waiting.update(claimed_until=None, try_after=timezone.now()))
"""
ENDED = """
from schedule.models import Notice
rows = Notice.objects.filter(gave_up_at__isnull=False)
print([(n.participant.user.email, n.attempts, n.error) for n in rows])
"""


@dataclass(frozen=True)
class Report:
    """What came of it; `unacknowledged` mails the server took without saying so.

    `killed_at` is how many mails the server had taken at each kill.
    """

    told: Counter[str]
    ids: dict[str, set[str]]
    killed_at: list[int]
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
    sink.stall_for, sink.answer = STALL_FOR, (moods := Troubled(random.Random(SEED + 1)))
    points = sorted(dice.sample(range(1, people), kills))
    killed_at: list[int] = []
    with ready(site) as commands:
        for point in points:
            commands.shell(HURRY)
            worker = commands.start("db_worker", "--interval=0.05", "--no-startup-delay")
            wait_until_taken(sink, point, worker)
            time.sleep(dice.random() / 50)
            worker.kill()
            killed_at.append(len(sink.mails))
        while int(commands.shell(HURRY)):
            commands.start("send_notices").wait()
        given_up = commands.shell(ENDED).strip()
    told = Counter(sink.told())
    return Report(told, sink.ids_by_recipient(), killed_at, moods.unacknowledged, given_up)


def wait_until_taken(sink: Sink, count: int, worker: Forked) -> None:
    """Wait until so many mails came, of which the worker has sent one at least."""
    before, give_up_at = len(sink.mails), time.monotonic() + PATIENCE
    while len(sink.mails) < max(count, before + 1):
        assert worker.is_running
        assert time.monotonic() < give_up_at, f"{len(sink.mails)} of {count} mails came"
        time.sleep(0.001)
