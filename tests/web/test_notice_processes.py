"""Notices sent by real processes on a database of their own: racing for the same rows."""

import os
import secrets
import subprocess
import sys
from collections import Counter
from pathlib import Path
from urllib.parse import urlsplit

import psycopg
import pytest
from django.db import connection

from tests.smtp_sink import running_sink

ROOT = Path(__file__).resolve().parent.parent.parent
PEOPLE = 60
SET_UP = f"""
from datetime import timedelta
from django.utils import timezone
from tests.builders import make_clue, make_knit_along, make_participant
knit_along = make_knit_along(cast_on_at=timezone.now() - timedelta(minutes=1))
for number in range({PEOPLE}):
    make_participant(knit_along, "Kit")
make_clue(knit_along)
"""


class Site:
    """A site in a folder of its own, whose commands run as processes."""

    def __init__(self, folder: Path, database_url: str, port: int) -> None:
        self.environment = os.environ | {
            "KAL_DATA_DIR": str(folder),
            "KAL_DATABASE_URL": database_url,
            "KAL_EMAIL_URL": f"smtp://127.0.0.1:{port}",
            "KAL_DEMO": "False",
        }

    def start(self, *command: str) -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            [sys.executable, "manage.py", *command],
            cwd=ROOT,
            env=self.environment,
            stdout=subprocess.DEVNULL,
        )

    def run(self, *command: str) -> None:
        assert self.start(*command).wait(timeout=60) == 0


@pytest.fixture
def sink():
    with running_sink() as sink:
        yield sink


@pytest.fixture
def database_url(tmp_path, db):
    """An empty database of the kind that the suite runs on, for the processes alone."""
    if connection.vendor == "sqlite":
        yield f"sqlite:///{tmp_path / 'site.sqlite3'}"
        return
    name = f"notices_{secrets.token_hex(6)}"
    url = urlsplit(os.environ["KAL_DATABASE_URL"])
    with psycopg.connect(url.geturl(), autocommit=True) as server:
        server.execute(f"CREATE DATABASE {name}")
        yield url._replace(path=f"/{name}").geturl()
        server.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
def site(tmp_path, database_url, sink):
    site = Site(tmp_path, database_url, sink.port)
    site.run("migrate", "--verbosity=0")
    site.run("shell", "--verbosity=0", "-c", SET_UP)
    return site


def test_two_processes_racing_tell_each_participant_once(site, sink):
    racing = [site.start("send_notices") for _ in range(2)]
    assert [process.wait(timeout=60) for process in racing] == [0, 0]
    assert len(sink.mails) == PEOPLE
    assert set(Counter(sink.told()).values()) == {1}
