"""PostgreSQL ends its own processes under the site, as at a restart of the server or a failover."""

import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager

import psycopg
import pytest
from django.db import connection

from schedule.notices.claims import MOST_UNMARKED
from tests.faults.fan_out import HURRY, SET_UP
from tests.ready_site import Forked, ReadySite, ready
from tests.site_process import PATIENCE, Site, sessions_of, signed_in
from tests.smtp_sink import running_sink

PEOPLE, CUTS = 400, 4
# "pg_terminate_backend", PostgreSQL's documentation, 9.28.2: ends one connection's process.
END_ALL = """
SELECT pg_terminate_backend(pid) FROM pg_stat_activity
WHERE datname = current_database() AND pid <> pg_backend_pid()
"""
WAITING = """
SELECT count(*) FROM pg_stat_activity
WHERE datname = current_database() AND wait_event_type = 'Lock'
"""

pytestmark = pytest.mark.faults


@pytest.fixture(autouse=True)
def on_postgresql(db):
    if connection.vendor != "postgresql":
        pytest.skip("SQLite has no server whose connections could end.")


@contextmanager
def server(url: str) -> Iterator["psycopg.Connection[tuple[int]]"]:
    with psycopg.connect(url, autocommit=True) as connected:
        yield connected


def start_worker(commands: ReadySite) -> Forked:
    """Start the worker, as its service does whenever it has ended; claims have run out by then."""
    commands.shell(HURRY)
    return commands.start("db_worker", "--interval=0.05", "--no-startup-delay")


def test_mail_goes_on_where_its_connections_were_ended(tmp_path, database_url):
    with running_sink() as sink, server(database_url) as postgres:
        site = Site(tmp_path, database_url, f"smtp://127.0.0.1:{sink.port}/?timeout=10")
        site.run("migrate", "--verbosity=0")
        site.shell(SET_UP.format(people=PEOPLE, kills=CUTS))
        with ready(site) as commands:
            worker = start_worker(commands)
            for cut in range(1, CUTS + 1):
                give_up_at = time.monotonic() + PATIENCE
                while len(sink.mails) < cut * PEOPLE // (CUTS + 1):
                    assert time.monotonic() < give_up_at
                    if not worker.is_running:
                        worker = start_worker(commands)
                    time.sleep(0.002)
                assert postgres.execute(END_ALL).rowcount >= 1
            worker.kill()
            while int(commands.shell(HURRY)):
                commands.start("send_notices").wait()
    told = Counter(sink.told())
    assert len(told) == PEOPLE
    assert sum(told.values()) - PEOPLE <= CUTS * MOST_UNMARKED
    assert {len(ids) for ids in sink.ids_by_recipient().values()} == {1}


def test_a_page_that_is_under_way_says_so_and_the_next_is_served(tmp_path, database_url):
    site = Site(tmp_path, database_url)
    site.run("migrate", "--verbosity=0")
    site.shell(SET_UP.format(people=1, kills=0))
    (session,) = sessions_of(site).values()
    slug = site.shell("print(__import__('kal.models').models.KnitAlong.objects.get().slug)").strip()
    page, headers = f"/k/{slug}/clues/1/", signed_in(session)
    answers: list[tuple[int, bytes]] = []
    with server(database_url) as postgres, site.serving() as web:
        assert web.ask("GET", page, headers=headers)[0] == 200
        with postgres.transaction():
            postgres.execute("LOCK TABLE schedule_clue")
            asking = threading.Thread(
                target=lambda: answers.append(web.ask("GET", page, headers=headers))
            )
            asking.start()
            wait_until_one_waits(postgres)
            postgres.execute(END_ALL)
        asking.join()
        status, body = answers[0]
        assert status == 503
        assert b"cannot reach its database" in b" ".join(body.split())
        assert web.ask("GET", page, headers=headers)[0] == 200
        # A kept connection that was ended between two pages is noticed by none.
        assert postgres.execute(END_ALL).rowcount >= 1
        assert web.ask("GET", page, headers=headers)[0] == 200


def wait_until_one_waits(postgres: "psycopg.Connection[tuple[int]]") -> None:
    give_up_at = time.monotonic() + PATIENCE
    while not (postgres.execute(WAITING).fetchone() or (0,))[0]:
        assert time.monotonic() < give_up_at
        time.sleep(0.01)
