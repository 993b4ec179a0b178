"""What was put right after a clue came out: who is told, and what they see of it."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
import time_machine
from django.db import OperationalError
from django.utils import timezone

from kal.models import Role
from schedule.actions import save_clue
from schedule.comparing import Kind, changes_between
from schedule.drafts import Draft, SectionDraft, WayDraft, draft_of
from schedule.models import Notice, Opening
from schedule.notices.ledger import announce_due
from schedule.notices.sweep import sweep
from tests.builders import NOON, make_clue, make_participant
from tests.conftest import signed_in
from tests.pages import words

SECOND = timedelta(seconds=1)
EDGE = SectionDraft("The edge", False, (WayDraft("Row 1: knit.\nRow 2: purl.", key="w"),), key="s")
BEFORE = Draft("T", True, "Cast on 5.\n\nJoin.", {}, frozenset(), sections=(EDGE,))


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOON, tick=False) as traveller:
        yield traveller


@pytest.fixture
def clue(knit_along):
    return make_clue(knit_along, title="Wall", body="Row 1: knit.")


@pytest.fixture
def address(knit_along):
    return f"/k/{knit_along.slug}/clues/1/"


@pytest.fixture
def mend(clue, hana, clock):
    def mended(body, note="Row 1 is purled."):
        clock.shift(SECOND)
        draft = replace(draft_of(clue), body=body, note=note)
        began = clue.revision.number
        save_clue(clue, draft, began_from=began, by=hana.user, now=timezone.now())

    return mended


def told(clue):
    return {
        (notice.participant.user.name, notice.revision)
        for notice in Notice.objects.filter(clue=clue, revision__gt=0)
    }


def test_those_who_opened_the_old_one_are_told_and_others_are_not(
    clue, kit, as_kit, as_hana, address, knit_along, mend
):
    announce_due(timezone.now())
    late = make_participant(knit_along, "Late")
    as_kit.get(address)
    mend("Row 1: purl.")
    signed_in(late.user).get(address)
    announce_due(timezone.now())
    assert told(clue) == {("Kit", 2)}
    mend("Row 1: purl all.", "All of row 1.")
    announce_due(timezone.now())
    assert told(clue) == {("Kit", 2), ("Kit", 3), ("Late", 3)}


def test_an_opening_is_written_once_and_never_before_the_instant(
    clue, as_kit, kit, hana, as_hana, address, clock, django_assert_num_queries
):
    clock.move_to(NOON - SECOND)
    as_hana.get(address)
    as_kit.get(address)
    clock.move_to(NOON)
    as_kit.head(address)
    assert not Opening.objects.exists()
    for _ in range(3):
        as_kit.get(address)
    assert Opening.objects.get().participant == kit
    with django_assert_num_queries(4):
        as_kit.get(address)


def test_a_database_that_cannot_write_still_shows_the_clue(
    clue, as_kit, address, monkeypatch, caplog
):
    def broken(*args, **kwargs):
        raise OperationalError("disk full")

    monkeypatch.setattr(Opening.objects, "bulk_create", broken)
    assert as_kit.get(address).status_code == 200
    assert "was not noted: disk full" in caplog.text


def test_the_page_of_errata_lists_those_of_clues_that_are_out(
    clue, as_kit, as_sam, knit_along, mend
):
    page = f"/k/{knit_along.slug}/errata/"
    assert "Nothing has had to be put right." in words(as_kit.get(page))
    mend("Row 1: purl.")
    shown = words(as_kit.get(page))
    assert "Row 1 is purled." in shown
    assert f'href="/k/{knit_along.slug}/clues/1/errata/2/"' in shown
    assert as_sam.get(page).status_code == 404


def test_what_changed_is_side_by_side_in_words(clue, as_kit, as_sam, address, mend):
    mend("Row 1: purl.")
    shown = words(as_kit.get(f"{address}errata/2/"))
    assert "<caption>Opening text</caption>" in shown
    assert (
        "<td>changed</td><td><del>Row 1: knit.</del></td><td><ins>Row 1: purl.</ins></td>" in shown
    )
    for missing in ("errata/1/", "errata/3/"):
        assert as_kit.get(f"{address}{missing}").status_code == 404
    assert as_sam.get(f"{address}errata/2/").status_code == 404
    assert f'href="{address}errata/2/"' in words(as_kit.get(address))


def test_a_clue_held_back_again_hides_its_errata(clue, knit_along, as_kit, address, mend):
    """It cannot be held once it is out; a row that says so is obeyed all the same."""
    mend("Row 1: purl.")
    type(clue).objects.update(is_held=True)
    assert as_kit.get(f"{address}errata/2/").status_code == 404
    assert "Row 1 is purled" not in words(as_kit.get(f"/k/{knit_along.slug}/errata/"))
    moderator = make_participant(knit_along, "Mo", Role.MODERATOR)
    assert signed_in(moderator.user).get(f"{address}errata/2/").status_code == 404


def kinds(changes):
    return [(change.where, [line.kind for line in change.lines]) for change in changes]


def test_only_what_differs_is_listed():
    assert changes_between(BEFORE, BEFORE, files={}) == ()
    after = replace(BEFORE, body="Cast on 5.\n\nJoin.\nKnit on.")
    assert kinds(changes_between(BEFORE, after, files={})) == [
        ("Opening text", [Kind.SAME, Kind.SAME, Kind.ADDED])
    ]


def test_what_is_far_from_a_change_is_counted_and_empty_lines_are_not():
    rows = [f"Row {number}: knit." for number in range(1, 9)]
    before = replace(BEFORE, body="\n\n".join(rows))
    after = replace(BEFORE, body="\n\n".join([*rows, "Bind off."]))
    ((_, kinds_found),) = kinds(changes_between(before, after, files={}))
    assert kinds_found == [Kind.LEFT_OUT, Kind.SAME, Kind.SAME, Kind.ADDED]
    (change,) = changes_between(before, after, files={})
    assert change.lines[0].before == "6 lines as before"


def test_a_section_is_followed_by_its_key_wherever_it_goes():
    way = replace(EDGE.ways[0], body="Row 1: knit.\nRow 2: knit.")
    after = replace(BEFORE, sections=(replace(EDGE, title="Border", ways=(way,)),))
    found = changes_between(BEFORE, after, files={})
    assert kinds(found) == [
        ("Sections", [Kind.CHANGED]),
        ("Border", [Kind.SAME, Kind.CHANGED]),
    ]
    assert (found[1].lines[1].before, found[1].lines[1].after) == ("Row 2: purl.", "Row 2: knit.")


def test_a_section_taken_out_is_shown_as_removed():
    found = changes_between(BEFORE, replace(BEFORE, sections=()), files={})
    assert kinds(found) == [
        ("Sections", [Kind.REMOVED]),
        ("The edge", [Kind.REMOVED, Kind.REMOVED]),
    ]


def test_files_and_yarn_are_compared_by_name_and_number():
    after = replace(
        BEFORE, attachments=frozenset({3}), uses={"A": Decimal("12.0")}, use_notes={"A": "48 m"}
    )
    found = changes_between(BEFORE, after, files={3: "chart.webp"})
    assert [(change.where, change.lines[0].after) for change in found] == [
        ("Yarn", "A: 12 g 48 m"),
        ("Files", "chart.webp"),
    ]


def test_the_mail_leads_to_what_changed(as_kit, address, mend, mailoutbox, clue):
    announce_due(timezone.now())
    as_kit.get(address)
    mend("Row 1: purl.")
    sweep(clock=timezone.now)
    # Beside the release itself, which those who host get too, in whatever order.
    (told_of,) = [mail for mail in mailoutbox if "/errata/" in mail.body]
    html = str(told_of.alternatives[0][0])
    assert f"http://localhost:8000{address}errata/2/" in told_of.body
    assert f'href="http://localhost:8000{address}errata/2/"' in html
    assert as_kit.get(f"{address}errata/2/").status_code == 200
