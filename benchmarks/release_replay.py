"""Let a crowd of signed-in participants reload one clue across its instant, on a real server.

    python -m benchmarks.release_replay [participants] [connections]

Each has a session of their own and asks at least once before the instant and at least once after,
over fewer kept-open HTTP connections than there are people. An answer is judged by the moments at
which it was asked for and had come: one that came before has to be 404 and hold nothing of the
clue, one that was asked for after has to be 200 with the clue in it. The p99 is that of the latter.
"""

import asyncio
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path

from tests.servers import free_port, running
from tests.site_process import SESSIONS, Site

PARTICIPANTS, CONNECTIONS, WORKERS = 10_000, 32, 2
SECRET = b"canary-of-clue-one"
SET_UP = """
import json
from datetime import timedelta
from django.contrib.sessions.models import Session
from django.utils import timezone
from kal.models import Participant
from tests.builders import make_clue, make_knit_along
instant = timezone.now() + timedelta(seconds=SECONDS)
knit_along = make_knit_along(slug="harbour", cast_on_at=instant)
make_clue(knit_along, body="# canary-of-clue-one\\n\\n" + "Row: *k2tog*, yo, k3.\\n" * 40)
users = User.objects.bulk_create(
    (User(email=f"kit{n}@knitters.example", name=f"Kit {n}", password="!") for n in range(COUNT)),
    batch_size=500,
)
Participant.objects.bulk_create(
    (Participant(user=user, knit_along=knit_along) for user in users), batch_size=500
)
store, expires = SessionStore(), timezone.now() + timedelta(days=1)
keys = [f"{n:032d}" for n in range(COUNT)]
Session.objects.bulk_create(
    (
        Session(session_key=key, expire_date=expires, session_data=store.encode(data_for(user)))
        for key, user in zip(keys, users)
    ),
    batch_size=500,
)
print(instant.timestamp())
"""


type Streams = tuple[asyncio.StreamReader, asyncio.StreamWriter]


@dataclass
class Seen:
    """What the crowd saw; times are seconds."""

    before: int = 0
    across: int = 0
    after: int = 0
    early: int = 0
    late: int = 0
    took: list[float] = field(default_factory=list)
    people_before: set[int] = field(default_factory=set)
    people_after: set[int] = field(default_factory=set)

    def judge(self, person: int, asked: float, came: float, instant: float, answer: bytes) -> None:
        is_shown = answer.startswith(b"HTTP/1.1 200") and SECRET in answer
        if came < instant:
            self.before += 1
            self.people_before.add(person)
            self.early += is_shown or not answer.startswith(b"HTTP/1.1 404") or SECRET in answer
        elif asked >= instant:
            self.after += 1
            self.took.append(came - asked)
            self.people_after.add(person)
            self.late += not is_shown
        else:
            self.across += 1


class Connection:
    """One kept-open connection, which asks for the clue as one participant after another."""

    def __init__(self, streams: Streams, instant: float, seen: Seen) -> None:
        self.reader, self.writer = streams
        self.instant, self.seen = instant, seen

    async def ask(self, person: int) -> None:
        asked = time.time()
        self.writer.write(
            b"GET /k/harbour/clues/1/ HTTP/1.1\r\nHost: localhost\r\n"
            + f"Cookie: sessionid={person:032d}\r\n\r\n".encode()
        )
        head = await self.reader.readuntil(b"\r\n\r\n")
        length = int(head.lower().partition(b"content-length: ")[2].partition(b"\r\n")[0])
        answer = head + await self.reader.readexactly(length)
        self.seen.judge(person, asked, time.time(), self.instant, answer)

    async def ask_across(self, people: range) -> None:
        """Ask as each before the instant, as one of them until then, and as each after it."""
        for person in people:
            if time.time() >= self.instant:
                break
            await self.ask(person)
        while time.time() < self.instant:
            await self.ask(people[0])
        for person in people:
            await self.ask(person)


async def crowd(port: int, people: range, instant: float, seen: Seen) -> None:
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    await Connection((reader, writer), instant, seen).ask_across(people)
    writer.close()
    await writer.wait_closed()


async def replay(port: int, count: int, connections: int, instant: float) -> Seen:
    seen, share = Seen(), -(-count // connections)
    shares = [range(start, min(start + share, count)) for start in range(0, count, share)]
    await asyncio.gather(*(crowd(port, people, instant, seen) for people in shares))
    return seen


def gunicorn(port: int) -> list[str]:
    return [
        *(sys.executable, "-m", "gunicorn", "kal.wsgi", f"--bind=127.0.0.1:{port}"),
        *(f"--workers={WORKERS}", "--threads=16", "--keep-alive=75", "--log-level=error"),
    ]


def main(arguments: list[str]) -> None:
    count = int(arguments[0]) if arguments else PARTICIPANTS
    connections = int(arguments[1]) if len(arguments) > 1 else CONNECTIONS
    with tempfile.TemporaryDirectory() as folder:
        database = os.environ.get("KAL_DATABASE_URL", f"sqlite:///{folder}/site.sqlite3")
        site = Site(Path(folder), database)
        site.run("migrate", "--verbosity=0")
        lead = 15 + count // 50  # seconds for everybody to have asked once before the instant
        code = SET_UP.replace("SECONDS", str(lead)).replace("COUNT", str(count))
        instant = float(site.shell(f"{SESSIONS}{code}"))
        port = free_port()
        with running(gunicorn(port), port, env=site.environment, stderr=subprocess.DEVNULL):
            seen = asyncio.run(replay(port, count, connections, instant))
    report(seen, count, connections)
    assert not seen.early, "somebody saw the clue before its instant"
    assert not seen.late, "somebody did not see it after"
    assert len(seen.people_after) == count


def report(seen: Seen, count: int, connections: int) -> None:
    took = sorted(seen.took)
    numbers = {
        "participants": count,
        "connections": connections,
        "asked before": len(seen.people_before),
        "answers before, across, after": [seen.before, seen.across, seen.after],
        "saw it early": seen.early,
        "missed it after": seen.late,
        "p50 and p99 after, s": [
            round(statistics.median(took), 3),
            round(took[len(took) * 99 // 100], 3),
        ],
        "p99 / p50": round(took[len(took) * 99 // 100] / statistics.median(took), 2),
    }
    print(json.dumps(numbers, indent=2))


if __name__ == "__main__":
    main(sys.argv[1:])
