"""Notices sent by real processes on a database of their own: racing for the same rows."""

from collections import Counter

import pytest

from tests.site_process import Site, empty_database
from tests.smtp_sink import running_sink

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


@pytest.fixture
def sink():
    with running_sink() as sink:
        yield sink


@pytest.fixture
def database_url(tmp_path, db):
    """For the processes alone."""
    with empty_database(tmp_path) as url:
        yield url


@pytest.fixture
def site(tmp_path, database_url, sink):
    site = Site(tmp_path, database_url, f"smtp://127.0.0.1:{sink.port}")
    site.run("migrate", "--verbosity=0")
    site.run("shell", "--verbosity=0", "-c", SET_UP)
    return site


def test_two_processes_racing_tell_each_participant_once(site, sink):
    racing = [site.start("send_notices") for _ in range(2)]
    assert [process.wait(timeout=60) for process in racing] == [0, 0]
    assert len(sink.mails) == PEOPLE
    assert set(Counter(sink.told()).values()) == {1}
