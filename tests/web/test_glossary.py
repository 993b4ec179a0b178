"""Abbreviations that the clues of a knit-along share."""

from datetime import timedelta

import pytest
import time_machine

from kal.models import AuditEntry
from schedule.glossary import used_in
from schedule.glossary_form import state_of
from schedule.models import GlossaryEntry
from tests.builders import NOON, make_clue
from tests.pages import words

MEANINGS = {"k": "knit", "k2tog": "knit two together", "yo": "yarn over", "sl": "slip"}


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOON, tick=False) as traveller:
        yield traveller


@pytest.fixture
def page(knit_along):
    return f"/k/{knit_along.slug}/desk/glossary/"


def sent(lines, began=None):
    return {"lines": lines, "began_from": state_of(began or {})}


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("k3, k2tog, yo", ["k", "k2tog", "yo"]),
        ("knit, yours, ak3, k3a, K3", []),
        ("*sl1, k1* (yo)", ["k", "sl", "yo"]),
        ("", []),
    ],
)
def test_abbreviations_are_found_as_words_with_or_without_a_count(text, found):
    assert [short for short, _ in used_in([text], MEANINGS)] == found


def test_an_entry_is_a_line_and_is_stored_once(as_hana, hana, page):
    lines = "k2tog = knit two  together\n\nyo=yarn over\n"
    assert as_hana.post(page, sent(lines)).status_code == 302
    assert GlossaryEntry.objects.meanings(hana.knit_along) == {
        "k2tog": "knit two together",
        "yo": "yarn over",
    }
    assert AuditEntry.objects.get().act == "changed the glossary"
    again = sent(lines, {"k2tog": "knit two together", "yo": "yarn over"})
    assert "Nothing was changed." in words(as_hana.post(page, again, follow=True))


@pytest.mark.parametrize(
    ("lines", "sentence"),
    [
        ("yo = yarn over\nknit", "Line 2: “knit” is not like k2tog = knit two together."),
        ("yo = yarn over\nyo = again", "Line 2: “yo” has a meaning already."),
        (f"{'x' * 21} = long", "Line 1: an abbreviation has at most 20 characters"),
        ("\n".join(f"a{n} = b" for n in range(301)), "at most 300 abbreviations"),
    ],
)
def test_a_line_that_cannot_be_is_named_and_nothing_is_lost(as_hana, hana, page, lines, sentence):
    response = as_hana.post(page, sent(lines))
    assert response.status_code == 422
    assert sentence in words(response)
    assert lines.splitlines()[0] in response.content.decode()
    assert not GlossaryEntry.objects.exists()


def test_two_people_at_once_see_both(as_hana, hana, page):
    GlossaryEntry.objects.create(knit_along=hana.knit_along, short="p", meaning="purl")
    response = as_hana.post(page, sent("yo = yarn over"))
    assert response.status_code == 409
    assert "p = purl" in words(response)
    assert "yo = yarn over" in words(response)
    as_hana.post(page, sent("yo = yarn over", {"p": "purl"}))
    assert GlossaryEntry.objects.meanings(hana.knit_along) == {"yo": "yarn over"}


def test_it_is_the_organisers_alone(as_kit, as_sam, page):
    for client in (as_kit, as_sam):
        assert client.get(page).status_code == 404
        assert client.post(page, sent("yo = yarn over")).status_code == 404


def test_a_clue_explains_what_it_uses_and_at_once_when_that_changes(
    as_hana, as_kit, knit_along, page
):
    make_clue(knit_along, body="Row 1: k3, yo, k3, `yo`.")
    address = f"/k/{knit_along.slug}/clues/1/"
    assert "<abbr" not in words(as_kit.get(address))
    as_hana.post(page, sent("k = knit\nyo = yarn over\np = purl"))
    shown = words(as_kit.get(address))
    assert 'Row 1: <abbr title="knit">k</abbr>3, <abbr title="yarn over">yo</abbr>, k3' in shown
    assert "<dt>yo</dt><dd>yarn over</dd>" in shown
    assert "purl" not in shown
    changed = {"k": "knit", "yo": "yarn over", "p": "purl"}
    as_hana.post(page, sent('yo = "yarn" <over>', changed))
    shown = words(as_kit.get(address))
    assert 'title="&quot;yarn&quot; &lt;over&gt;"' in shown
    assert '<abbr title="knit"' not in shown


def test_a_clue_that_is_remembered_is_still_four_questions(
    as_hana, as_kit, knit_along, page, django_assert_num_queries
):
    make_clue(knit_along, body="Row 1: k3, yo.")
    as_hana.post(page, sent("k = knit"))
    as_kit.get(f"/k/{knit_along.slug}/clues/1/")
    with django_assert_num_queries(4), time_machine.travel(NOON + timedelta(hours=1), tick=False):
        as_kit.get(f"/k/{knit_along.slug}/clues/1/")
