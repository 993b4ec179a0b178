"""Early readers read a clue line by line, comment under their name, and sign it off."""

from dataclasses import replace
from datetime import timedelta

import pytest
import time_machine

from kal.models import AuditEntry, Role
from schedule.actions import save_clue
from schedule.drafts import SectionDraft, WayDraft, draft_of
from schedule.models import ReaderComment, SignOff
from tests.builders import NOON, make_clue, make_knit_along, make_participant
from tests.conftest import signed_in
from tests.pages import words

DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOON - DAY, tick=False) as traveller:
        yield traveller


@pytest.fixture
def clue(knit_along, hana):
    clue = make_clue(knit_along, body="Cast on 5.\n\nJoin.")
    ways = (WayDraft("Row 1: knit.\nRow 2: purl.", "plain"), WayDraft("Graft <all>.", "grafted"))
    draft = replace(draft_of(clue), sections=(SectionDraft("The edge", False, ways),))
    save_clue(clue, draft, began_from=1, by=hana.user, now=NOON - 2 * DAY)
    return clue


@pytest.fixture
def as_edda(knit_along):
    return signed_in(make_participant(knit_along, "Edda", Role.CO_ORGANISER).user)


@pytest.fixture
def page(knit_along):
    return f"/k/{knit_along.slug}/clues/1/read-ahead/"


def comment(client, page, at="1-1-2", text="Is row 2 purled?", revision=2):
    sent = {"at": at, "text": text, "revision": revision}
    return client.post(f"{page}comment/", sent)


def test_every_line_of_every_way_is_there_with_its_number(clue, as_edda, page):
    shown = words(as_edda.get(page))
    for text in ("Cast on 5.", "Row 2: purl.", "Graft &lt;all&gt;."):
        assert f"<span>{text}</span>" in shown
    assert 'id="line-0-0-3"' in shown
    assert 'id="line-0-0-2"' not in shown
    assert 'id="line-1-2-1"' in shown
    assert "<textarea" not in shown
    opened = words(as_edda.get(f"{page}?at=1-1-2"))
    assert opened.index("Row 2: purl.") < opened.index("<textarea") < opened.index("Graft &lt;")


def test_a_comment_is_under_its_line_and_the_organiser_answers_and_resolves(
    clue, as_edda, as_hana, page
):
    answer = comment(as_edda, page)
    assert answer.headers["Location"] == f"{page}#line-1-1-2"
    stored = ReaderComment.objects.get()
    assert (stored.place, stored.quoted) == ((1, 1, 2), "Row 2: purl.")
    shown = words(as_hana.get(page))
    assert shown.index("Row 2: purl.") < shown.index("<strong>Edda") < shown.index("Graft")
    sent = {"answer": "It is.", "resolved": "yes"}
    as_hana.post(f"{page}comments/{stored.pk}/", sent)
    shown = words(as_edda.get(page))
    assert "<strong>Hana:</strong> It is." in shown
    assert "resolved" in shown
    assert "Your answer" not in shown
    as_hana.post(f"{page}comments/{stored.pk}/", sent | {"resolved": "no"})
    stored.refresh_from_db()
    assert stored.resolved_at is None
    assert [entry.act for entry in AuditEntry.objects.all()][:2] == [
        "answered a comment",
        "resolved a comment",
    ]


@pytest.mark.parametrize("at", ["", "0-0-2", "9-9-9", "1-1", "1-1-2x", "-1-1-1"])
def test_a_line_that_is_not_there_is_not_found(clue, as_edda, page, at):
    assert comment(as_edda, page, at=at).status_code == 404
    assert as_edda.get(f"{page}?at={at}").status_code == 200


def test_an_empty_comment_is_refused_under_its_line(clue, as_edda, page):
    response = comment(as_edda, page, text=" ")
    assert response.status_code == 422
    assert "This field is required." in words(response)


def test_a_comment_on_a_line_saved_anew_keeps_its_words_and_asks(clue, as_edda, page):
    response = comment(as_edda, page, revision=1)
    assert response.status_code == 422
    assert "was saved again while you wrote" in words(response)
    assert "Is row 2 purled?</textarea>" in words(response)
    assert not ReaderComment.objects.exists()


def test_open_comments_of_an_earlier_revision_stay_in_sight(clue, as_edda, as_hana, hana, page):
    comment(as_edda, page)
    draft = replace(draft_of(clue), sections=())
    save_clue(clue, draft, began_from=2, by=hana.user, now=NOON - DAY)
    shown = words(as_edda.get(page))
    assert "Revision 2: <q>Row 2: purl.</q>" in shown
    assert "Is row 2 purled?" in shown
    pk = ReaderComment.objects.get().pk
    as_hana.post(f"{page}comments/{pk}/", {"answer": "", "resolved": "yes"})
    assert "Is row 2 purled?" not in words(as_edda.get(page))


def test_a_sign_off_is_of_one_revision_and_lapses_with_the_next(clue, as_edda, hana, page):
    assert "Edda: has not signed off" in words(as_edda.get(page))
    for _ in range(2):
        as_edda.post(f"{page}sign-off/", {"revision": 2})
    assert SignOff.objects.count() == 1
    shown = words(as_edda.get(page))
    assert "Edda: signed off <span" in shown
    assert "sign it off</button>" not in shown
    draft = replace(draft_of(clue), body="Cast on 6.")
    save_clue(clue, draft, began_from=2, by=hana.user, now=NOON - DAY)
    shown = words(as_edda.get(page))
    assert "Edda: signed off revision 2, which lapsed when the clue was changed" in shown
    assert "I have read revision 3: sign it off" in shown


def test_what_was_not_read_cannot_be_signed_off(clue, as_edda, page):
    for revision in (1, 3, "x"):
        response = as_edda.post(f"{page}sign-off/", {"revision": revision}, follow=True)
        assert "was saved again while you read" in words(response)
    assert not SignOff.objects.exists()


def test_nobody_else_finds_any_of_it_before_or_after_the_instant(
    clue, as_edda, as_kit, as_sam, knit_along, page, clock
):
    comment(as_edda, page)
    mo = signed_in(make_participant(knit_along, "Mo", Role.MODERATOR).user)
    pk = ReaderComment.objects.get().pk
    for moment in (NOON - DAY, NOON + DAY):
        clock.move_to(moment)
        for client in (as_kit, as_sam, mo):
            assert client.get(page).status_code == 404
            assert comment(client, page).status_code == 404
            assert client.post(f"{page}sign-off/", {"revision": 2}).status_code == 404
            assert client.post(f"{page}comments/{pk}/", {"answer": "x"}).status_code == 404
        assert "Is row 2 purled?" not in words(as_kit.get(f"/k/{knit_along.slug}/clues/1/"))


def test_answers_are_the_organisers_of_this_knit_along(clue, as_edda, page):
    comment(as_edda, page)
    pk = ReaderComment.objects.get().pk
    assert as_edda.post(f"{page}comments/{pk}/", {"answer": "x"}).status_code == 404
    other = make_knit_along()
    make_clue(other)
    olga = signed_in(make_participant(other, "Olga", Role.ORGANISER).user)
    elsewhere = f"/k/{other.slug}/clues/1/read-ahead/comments/{pk}/"
    assert olga.post(elsewhere, {"answer": "x"}).status_code == 404
    assert ReaderComment.objects.get().answer == ""
