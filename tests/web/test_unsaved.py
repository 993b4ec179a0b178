"""What is typed into a clue and not saved: kept for its author, and never taken for a revision."""

import re
from datetime import timedelta

import pytest
import time_machine

from schedule.models import Revision, UnsavedWords
from tests.builders import NOON, make_clue
from tests.pages import words
from tests.writing import typed

DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOON - DAY, tick=False) as traveller:
        yield traveller


@pytest.fixture
def clue(knit_along):
    return make_clue(knit_along, title="Harbour wall", body="Cast on 5.")


@pytest.fixture
def page(knit_along):
    return f"/k/{knit_along.slug}/desk/clues/1/"


def test_words_are_kept_without_a_revision_and_come_back_with_a_notice(as_hana, clue, page):
    answer = as_hana.post(f"{page}keep/", typed("Cast on 7, or"), headers={"HX-Request": "true"})
    assert "Kept at 12:00:00, for you alone; not saved yet." in words(answer)
    assert "<html" not in words(answer)
    assert clue.revisions.count() == 1
    shown = words(as_hana.get(page))
    assert "your unsaved words from 28 February, 12:00" in shown
    assert "Cast on 7, or</textarea>" in shown


def test_a_character_that_no_database_keeps_is_left_out(as_hana, clue, page):
    assert as_hana.post(f"{page}keep/", typed("Cast\0 on 7")).status_code == 200
    assert UnsavedWords.objects.get().fields["body"] == ["Cast on 7"]


def test_words_of_one_author_are_nobody_elses(as_hana, as_ines, clue, page):
    as_hana.post(f"{page}keep/", typed("Cast on 7, or"))
    shown = words(as_ines.get(page))
    assert "Cast on 7" not in shown
    assert "Cast on 5.</textarea>" in shown


def test_what_cannot_be_saved_yet_is_kept_all_the_same(as_hana, clue, page):
    half = {"meetings-TOTAL_FORMS": 1, "meetings-0-first": "A", "grams_A": "a lot"}
    as_hana.post(f"{page}keep/", typed("Cast on 7.", **half))
    shown = words(as_hana.get(page))
    assert 'value="a lot"' in shown
    assert '<option value="A" selected>A</option>' in shown


def test_saving_or_dropping_ends_them(as_hana, clue, page):
    as_hana.post(f"{page}keep/", typed("Cast on 7, or"))
    as_hana.post(page, typed("Cast on 7."))
    assert not UnsavedWords.objects.exists()
    as_hana.post(f"{page}keep/", typed("Cast on 9", began_from=2))
    assert "are dropped" in words(as_hana.post(f"{page}discard/", follow=True))
    assert not UnsavedWords.objects.exists()
    assert clue.revision.body == "Cast on 7."


def test_words_that_arrive_after_their_author_has_saved_are_old_news(as_hana, clue, page):
    as_hana.post(page, typed("Cast on 7."))
    answer = as_hana.post(f"{page}keep/", typed("Cast on 6"))
    assert "You have saved this clue elsewhere since" in words(answer)
    assert not UnsavedWords.objects.exists()


def test_words_like_those_stored_raise_no_notice(as_hana, clue, page):
    as_hana.post(f"{page}keep/", typed("Cast on 5."))
    assert "unsaved words" not in words(as_hana.get(page))


def test_a_note_typed_before_the_text_it_is_about_comes_back(as_hana, clue, page, clock):
    clock.move_to(NOON)
    as_hana.post(f"{page}keep/", typed("Cast on 5.", note="Seven stitches, not five."))
    assert 'value="Seven stitches, not five."' in words(as_hana.get(page))


def test_words_behind_a_save_of_somebody_else_are_shown_beside_it(as_hana, as_ines, clue, page):
    as_hana.post(f"{page}keep/", typed("Cast on 7."))
    as_ines.post(page, typed("Cast on 9."))
    shown = words(as_hana.get(page))
    assert "Ines saved revision 2 of this clue after you began" in shown
    assert "<td>changed</td><td><del>Cast on 9.</del></td><td><ins>Cast on 7.</ins></td>" in shown
    assert 'name="began_from" value="2"' in shown
    assert "Take theirs and drop mine" in shown
    as_hana.post(page, typed("Cast on 7.", began_from=2))
    assert clue.revision.body == "Cast on 7."


def test_two_organisers_at_once_see_both_texts_side_by_side(as_hana, as_ines, clue, page):
    as_ines.post(page, typed("Cast on 9.", techniques="grafting"))
    response = as_hana.post(page, typed("Cast on 7."))
    assert response.status_code == 409
    shown = words(response)
    assert "<del>Cast on 9.</del></td><td><ins>Cast on 7.</ins>" in shown
    # Techniques were changed by one of them alone, so nothing is asked.
    assert "1 text that only they changed" in shown
    assert 'name="techniques" value="grafting"' in shown
    taken = words(as_hana.post(f"{page}discard/", follow=True))
    assert "Cast on 9.</textarea>" in taken
    assert Revision.objects.filter(clue=clue).count() == 2


def test_keeping_is_the_organisers_alone(as_kit, as_sam, clue, page):
    for client in (as_kit, as_sam):
        for place in ("keep/", "discard/"):
            assert client.post(f"{page}{place}", typed("Mine")).status_code == 404
    assert not UnsavedWords.objects.exists()
    assert as_kit.get(f"{page}keep/").status_code == 405


def test_one_more_row_begins_there_and_keeps_what_is_typed(as_hana, clue, page):
    more = {"meetings-TOTAL_FORMS": 1, "meetings-0-first": "A", "add": "meetings"}
    shown = words(as_hana.post(page, typed("Cast on 7, or", **more)))
    assert shown.count(" autofocus") == 1
    assert re.search(r'<select name="meetings-1-first"[^>]* autofocus', shown)
    back = words(as_hana.get(page))
    assert "Cast on 7, or</textarea>" in back
    assert 'name="meetings-1-first"' in back


@pytest.mark.parametrize(
    ("wanted", "field"),
    [
        ("sections", "sections-0-title"),
        ("videos", "videos-0-title"),
        ("sections-7-ways", None),
        ("nothing", None),
    ],
)
def test_each_list_begins_with_its_new_row(as_hana, clue, page, wanted, field):
    shown = words(as_hana.post(page, typed("Cast on 7.", add=wanted)))
    begun = re.findall(r'<(?:input|select|textarea)[^>]* name="([^"]+)"[^>]* autofocus', shown)
    assert begun == ([field] if field else [])
