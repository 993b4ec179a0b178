"""`manage.py list_releases`: instants, states, and no secret."""

import json
from datetime import UTC, datetime, timedelta
from io import StringIO

import pytest
import time_machine
from django.core.management import CommandError, call_command

from tests.builders import NOON, make_clue, make_knit_along


def printed(*arguments):
    out = StringIO()
    call_command("list_releases", *arguments, stdout=out)
    return out.getvalue()


@pytest.fixture
def slug(db):
    with time_machine.travel(NOON + timedelta(seconds=1), tick=False):
        knit_along = make_knit_along()
        make_clue(knit_along, 1)
        make_clue(knit_along, 2, title_is_secret=False)
        make_clue(knit_along, 3, is_held=True)
        make_clue(knit_along, 4, ready_at=None)
        summer = datetime(2027, 3, 29, 11, tzinfo=UTC)
        make_clue(knit_along, 5, release_at=summer)
        yield knit_along.slug


def test_json_gives_both_times_and_the_state_of_each(slug):
    report = json.loads(printed(slug, "--json"))
    clues = report["clues"]
    assert (report["knit_along"], report["zone"]) == (slug, "Europe/Lisbon")
    assert [clue["state"] for clue in clues] == ["out", "ready", "held", "not ready", "ready"]
    assert (clues[0]["utc"], clues[0]["local"]) == (
        "2027-03-01T12:00:00Z",
        "2027-03-01T12:00:00+00:00",
    )
    # Lisbon went to summer time the day before (tz database, file europe).
    assert (clues[4]["utc"], clues[4]["local"]) == (
        "2027-03-29T11:00:00Z",
        "2027-03-29T12:00:00+01:00",
    )


def test_a_secret_title_is_printed_only_to_the_organiser(slug):
    titles = [clue["title"] for clue in json.loads(printed(slug, "--json"))["clues"]]
    assert titles == ["Clue title 1", "Clue title 2", None, None, None]
    assert "Clue title 3" not in printed(slug)
    assert "Clue title 3" in printed(slug, "--as-organiser")


def test_words_say_what_is_late(slug):
    with time_machine.travel(NOON + timedelta(days=15), tick=False):
        lines = printed(slug).splitlines()
    assert lines[2].endswith("held, late")
    assert lines[1].endswith("out  Clue title 2")


def test_a_knit_along_without_clues_says_so(db):
    slug = make_knit_along().slug
    assert printed(slug) == f"{slug} has no clues yet.\n"


def test_an_unknown_name_is_one_line_and_exit_code_2(db):
    with pytest.raises(CommandError) as refused:
        printed("harbour-lihgts")
    assert refused.value.returncode == 2
    assert str(refused.value) == (
        "No knit-along is called 'harbour-lihgts'; use the last part of its address, /k/…."
    )
