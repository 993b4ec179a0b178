"""What must be mended before a clue is marked ready, and what is only worth a look."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
import time_machine

from kal.models import Role
from schedule.actions import comment_on_line, save_clue, sign_off
from schedule.drafts import Draft, PartDraft, SectionDraft, WayDraft
from schedule.models import Attachment, Clue, Revision
from schedule.preflight import Check, inspect, preflight
from tests.builders import NO_ROWS, NOON, make_clue, make_participant
from tests.pages import words

DAY = timedelta(days=1)
PLAIN = WayDraft("Bind off.")
FIT = Draft("T", True, "Cast on 5.", {"A": Decimal(12)}, frozenset({7}))
FILES = (Attachment(pk=7, kind="image", name="chart.webp", alt="Two stripes"),)


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOON - 9 * DAY, tick=False) as traveller:
        yield traveller


def sections(*given, **fields):
    return replace(FIT, sections=given, **fields)


def rows(start, rows=1, **fields):
    return PartDraft(start, rows=rows, **fields)


def test_a_clue_with_all_it_needs_has_nothing_to_look_at():
    assert list(inspect(FIT, FILES, [1, 2])) == []


@pytest.mark.parametrize(
    ("draft", "check", "sentence"),
    [
        (replace(FIT, body=" ", attachments=frozenset()), Check.EMPTY, "Nothing is written"),
        (
            replace(FIT, descriptions={7: " "}),
            Check.NO_ALT,
            "chart.webp has no description: say what it shows.",
        ),
        (
            sections(SectionDraft("Edge", True, (PLAIN,))),
            Check.NO_CHOICE,
            "Edge promises an easier way and has only one",
        ),
        (sections(SectionDraft("", False, ())), Check.EMPTY_WAY, "Section 1 has a way without"),
        (
            replace(FIT, body="See [that](clues/2)."),
            Check.BROKEN_LINK,
            "The link “clues/2” leads nowhere",
        ),
        (
            sections(SectionDraft("Edge", False, (PLAIN,), (rows(9, changes=(2,)), rows(12)))),
            Check.COUNTS,
            "Edge, rows ends with 11 stitches, but Edge, rows starts with 12.",
        ),
        (replace(FIT, attachments=frozenset()), Check.NO_FILE, "No file"),
        (replace(FIT, uses={}), Check.NO_YARDAGE, "No yarn amount for any letter"),
        (
            sections(SectionDraft("Edge", False, (PLAIN,), (rows(9, letters="AC"),))),
            Check.NO_YARDAGE,
            "No yarn amount for C",
        ),
    ],
)
def test_each_thing_that_is_missing_is_named(draft, check, sentence):
    (remark,) = inspect(draft, FILES, [1, 2])
    assert remark.check == check
    assert sentence in remark.text


@pytest.mark.parametrize(
    ("text", "is_broken"),
    [
        ("[a](https://films.example/7)", False),
        ("[a](mailto:hana@knitters.example)", False),
        ("[a](/k/harbour/clues/2/)", False),
        ("[a](/k/harbour/errata/)", False),
        ("![The chart](chart.webp)", False),
        ("[a](/k/harbour/clues/3/)", True),
        ("[a](/nowhere/at/all)", True),
        ("[a](#row-5)", True),
        ("[a](https://films)", True),
        ("[a](http://)", True),
        ("![The other chart](other.webp)", True),
        ("[a](ftp://films.example/7)", True),
        ("`[a](nowhere)`", False),
    ],
)
def test_a_link_is_followed_on_this_site_and_read_on_others(text, is_broken):
    found = [remark.check for remark in inspect(replace(FIT, body=text), FILES, [1, 2])]
    assert found == ([Check.BROKEN_LINK] if is_broken else [])


def checks(clue, now):
    return {remark.check for remark in preflight(clue, now)}


def test_an_instant_too_close_is_worth_a_look(knit_along):
    clue = make_clue(knit_along)
    assert Check.TOO_CLOSE not in checks(clue, NOON - DAY)
    assert Check.TOO_CLOSE in checks(clue, NOON - DAY + timedelta(seconds=1))
    assert Check.TOO_CLOSE in checks(clue, NOON)
    make_clue(knit_along, 2, release_at=NOON + DAY - timedelta(seconds=1))
    assert Check.TOO_CLOSE in checks(clue, NOON - 9 * DAY)


def test_open_comments_and_missing_sign_offs_are_told(knit_along, hana):
    clue = make_clue(knit_along)
    edda = make_participant(knit_along, "Edda", Role.CO_ORGANISER)
    text, revision = "Five?", Revision.objects.get()
    comment_on_line(revision, (0, 0, 1), quoted="Cast", text=text, by=edda, now=NOON - DAY)
    told = [remark.text for remark in preflight(clue, NOON - 9 * DAY)]
    assert "1 comment of an early reader is open." in told
    assert "Not signed off as it stands by Edda." in told
    sign_off(clue, 1, by=edda, now=NOON - DAY)
    assert Check.NOT_SIGNED not in checks(clue, NOON - 9 * DAY)
    save_clue(
        clue, replace(FIT, attachments=frozenset()), began_from=1, by=hana.user, now=NOON - DAY
    )
    assert Check.NOT_SIGNED in checks(clue, NOON - 9 * DAY)


def test_a_fault_keeps_a_clue_from_being_marked_ready_and_advice_does_not(
    as_hana, hana, knit_along
):
    clue = make_clue(knit_along, ready_at=None, body="[a](nowhere) and [b](#there)")
    ready = f"/k/{knit_along.slug}/desk/clues/1/ready/"
    response = as_hana.post(ready)
    assert response.status_code == 422
    assert "Clue 1 is not fit to go out. The link “nowhere” leads nowhere" in words(response)
    assert f'href="/k/{knit_along.slug}/desk/clues/1/"' in words(response)
    assert "And 1 fault more." in words(response)
    assert not Clue.objects.get().ready_at
    shown = words(as_hana.get(f"/k/{knit_along.slug}/desk/clues/"))
    assert (
        f'href="/k/{knit_along.slug}/desk/clues/1/#preflight">2 faults to mend, 2 things' in shown
    )
    shown = words(as_hana.get(f"/k/{knit_along.slug}/desk/clues/1/"))
    assert "<strong>To mend:</strong> The link “#there” leads nowhere" in shown
    assert "<strong>Look at:</strong> No file" in shown
    save_clue(clue, replace(FIT, attachments=frozenset()), began_from=1, by=hana.user, now=NOON)
    assert as_hana.post(ready).status_code == 302
    assert Clue.objects.get().ready_at


def test_a_clue_marked_ready_cannot_be_saved_with_a_fault(as_hana, knit_along):
    clue = make_clue(knit_along)
    sent = {"began_from": 1, "title": "T", "body": "[a](nowhere)", **NO_ROWS}
    response = as_hana.post(f"/k/{knit_along.slug}/desk/clues/1/", sent)
    assert response.status_code == 422
    assert "It is marked ready: put that right, or mark it not ready first." in words(response)
    assert clue.revisions.count() == 1


def test_the_schedule_asks_no_more_for_more_clues(
    as_hana, knit_along, django_assert_max_num_queries
):
    for number in range(1, 9):
        make_clue(knit_along, number)
    with django_assert_max_num_queries(25):
        as_hana.get(f"/k/{knit_along.slug}/desk/clues/")
