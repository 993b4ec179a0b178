"""Two organisers who change one clue at once: put together text by text, and asked if need be."""

import re
from datetime import timedelta

import pytest
import time_machine

from schedule.models import Clue, UnsavedWords
from tests.builders import NOON, make_clue
from tests.pages import words
from tests.writing import typed

DAY = timedelta(days=1)
MINE, THEIRS = "mine", "theirs"


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOON - DAY, tick=False) as traveller:
        yield traveller


@pytest.fixture
def clue(knit_along):
    clue = make_clue(knit_along, title="Harbour wall", body="Cast on 5.")
    clue.revisions.update(title="Harbour wall")  # as saving through the page does
    return clue


@pytest.fixture
def page(knit_along):
    return f"/k/{knit_along.slug}/desk/clues/1/"


INPUT = re.compile(r"<(input|textarea|select)\b[^>]*?\bname=\"([^\"]+)\"[^>]*>")


def as_shown(response) -> dict[str, object]:
    """Return what the page's form would send as it is shown, radios unchosen."""
    page = response.content.decode()
    form = page[page.index('<form class="writing"') :]
    form = form[: form.index("</form>")]
    sent: dict[str, list[str]] = {}
    for found in INPUT.finditer(form):
        tag, name = found[0], found[2]
        value = re.search(r'\bvalue="([^"]*)"', tag)
        if found[1] == "textarea":
            text = form[found.end() : form.index("</textarea>", found.end())].removeprefix("\n")
            sent.setdefault(name, []).append(text)
        elif "checkbox" in tag or "radio" in tag:
            if " checked" in tag:
                sent.setdefault(name, []).append(value[1] if value else "on")
        elif found[1] == "select":
            options = form[found.end() : form.index("</select>", found.end())]
            chosen = re.search(r'value="([^"]*)" selected', options)
            sent.setdefault(name, []).append(chosen[1] if chosen else "")
        elif "file" not in tag:
            sent.setdefault(name, []).append(value[1] if value else "")
    return dict(sent)


def section(*bodies, title="The edge", key="s1"):
    """Return the boxes of one section whose ways have these texts."""
    rows = {"sections-TOTAL_FORMS": 1, "sections-0-key": key, "sections-0-title": title}
    rows |= {"sections-0-parts-TOTAL_FORMS": 0, "sections-0-parts-INITIAL_FORMS": 0}
    rows |= {"sections-0-ways-TOTAL_FORMS": len(bodies), "sections-0-ways-INITIAL_FORMS": 0}
    for place, body in enumerate(bodies):
        rows |= {f"sections-0-ways-{place}-key": f"w{place}", f"sections-0-ways-{place}-body": body}
    return rows


def test_what_only_one_of_them_changed_needs_no_question(as_hana, as_ines, clue, page):
    as_ines.post(page, typed(techniques="grafting", grams_B="8"))
    shown = as_hana.post(page, typed(body="Cast on 7.", grams_A="12"))
    assert shown.status_code == 409
    text = words(shown)
    assert "No text was changed by both of you" in text
    assert "2 texts that only they changed" in text
    assert 'name="asked"' not in text
    assert clue.revision.number == 2
    as_hana.post(page, as_shown(shown))
    newest = clue.revision
    assert (newest.number, newest.body, newest.techniques) == (3, "Cast on 7.", "grafting")
    assert [str(use) for use in newest.letter_uses.all()] == ["A: 12.0 g", "B: 8.0 g"]


@pytest.mark.parametrize(("choice", "outcome"), [(THEIRS, "Cast on 9."), (MINE, "Cast on 7.")])
def test_a_text_that_both_changed_is_chosen(as_hana, as_ines, clue, page, choice, outcome):
    as_ines.post(page, typed(body="Cast on 9.", title="Pier"))
    shown = as_hana.post(page, typed(body="Cast on 7."))
    assert ">Opening text</legend>" in words(shown)
    sent = as_shown(shown)
    assert sent["asked"] == ["body"]
    as_hana.post(page, sent | {"choice_body": choice})
    assert clue.revision.body == outcome
    # Theirs is stored already, so choosing it all makes no revision more.
    assert clue.revision.number == (3 if choice == MINE else 2)
    assert Clue.objects.get().title == "Pier"


def test_nothing_is_saved_until_every_text_is_chosen(as_hana, as_ines, clue, page):
    as_ines.post(page, typed(body="Cast on 9.", techniques="grafting"))
    sent = as_shown(as_hana.post(page, typed(body="Cast on 7.", techniques="lace")))
    assert sent["asked"] == ["body", "techniques"]
    again = as_hana.post(page, sent | {"choice_techniques": THEIRS, "title": "Harbour walls"})
    assert again.status_code == 422
    text = words(again)
    assert "choose theirs or yours for each text below" in text
    assert text.count("Choose theirs or yours.") == 1
    assert 'name="choice_techniques" value="theirs" checked' in text
    assert 'value="Harbour walls"' in text
    assert "<del>Cast on 9.</del></td><td><ins>Cast on 7.</ins>" in text
    assert clue.revision.number == 2
    as_hana.post(page, as_shown(again) | {"choice_body": MINE})
    assert (clue.revision.body, clue.revision.techniques) == ("Cast on 7.", "grafting")


def test_one_more_row_or_a_mistake_elsewhere_loses_no_question(as_hana, as_ines, clue, page):
    as_ines.post(page, typed(body="Cast on 9.", techniques="grafting"))
    sent = as_shown(as_hana.post(page, typed(body="Cast on 7.", techniques="lace")))
    sent |= {"choice_body": THEIRS}
    grown = as_shown(as_hana.post(page, sent | {"add": "videos"}))
    wrong = as_shown(as_hana.post(page, sent | {"grams_A": "a lot"}))
    for shown in (grown, wrong):
        assert shown["asked"] == ["body", "techniques"]
        assert shown["choice_body"] == [THEIRS]
        assert "choice_techniques" not in shown
    assert (grown["videos-TOTAL_FORMS"], wrong["grams_A"]) == (["1"], ["a lot"])


def test_mine_is_what_stands_in_the_form_and_may_be_written_of_both(as_hana, as_ines, clue, page):
    as_ines.post(page, typed(body="Cast on 9."))
    sent = as_shown(as_hana.post(page, typed(body="Cast on 7.")))
    as_hana.post(page, sent | {"choice_body": MINE, "body": "Cast on 7 or 9."})
    assert clue.revision.body == "Cast on 7 or 9."


def test_ways_of_a_section_are_chosen_one_by_one(as_hana, as_ines, clue, page):
    as_hana.post(page, typed(**section("Row 1: knit.", "Row 1: purl.")))
    as_ines.post(
        page, typed(began_from=2, **section("Row 1: knit 2.", "Row 1: slip.", title="The border"))
    )
    shown = as_hana.post(page, typed(began_from=2, **section("Row 1: knit 3.", "Row 1: purl.")))
    sent = as_shown(shown)
    assert sent["asked"] == ["way.s1.w0"]
    assert ">The border</legend>" in words(shown)
    as_hana.post(page, sent | {"choice_way.s1.w0": MINE})
    (stored,) = clue.revision.sections.all()
    assert stored.title == "The border"
    assert [way.body for way in stored.ways.all()] == ["Row 1: knit 3.", "Row 1: slip."]


def meetings(*pairs, needs="workable"):
    """Return the boxes of letters that meet, like "AB"."""
    rows = {"meetings-TOTAL_FORMS": len(pairs)}
    for place, (first, second) in enumerate(pairs):
        rows |= {f"meetings-{place}-first": first, f"meetings-{place}-second": second}
        rows |= {f"meetings-{place}-needs": needs}
    return rows


def test_letters_that_meet_are_put_together_pair_by_pair(as_hana, as_ines, clue, page):
    as_ines.post(page, typed(**meetings("AC", "BC")))
    shown = as_hana.post(page, typed(**meetings("AC", "AB", needs="strong")))
    sent = as_shown(shown)
    assert sent["asked"] == ["meeting.AC"]
    assert ">Colours that meet: A and C</legend>" in words(shown)
    as_hana.post(page, sent | {"choice_meeting.AC": MINE})
    assert [(str(one), one.needs) for one in clue.revision.meetings.all()] == [
        ("A and B", "strong"),
        ("A and C", "strong"),
        ("B and C", "workable"),
    ]


@pytest.mark.parametrize(("choice", "left"), [(THEIRS, []), (MINE, ["Row 1: knit 3."])])
def test_a_section_that_one_took_out_and_the_other_changed(
    as_hana, as_ines, clue, page, choice, left
):
    as_hana.post(page, typed(**section("Row 1: knit.")))
    as_ines.post(page, typed(began_from=2))
    shown = as_hana.post(page, typed(began_from=2, **section("Row 1: knit 3.")))
    assert "not in the clue" in words(shown)
    as_hana.post(page, as_shown(shown) | {"choice_section.s1": choice})
    assert [way.body for part in clue.revision.sections.all() for way in part.ways.all()] == left


def test_a_section_i_took_out_comes_back_whole_if_theirs_is_chosen(as_hana, as_ines, clue, page):
    as_hana.post(page, typed(**section("Row 1: knit.")))
    as_ines.post(page, typed(began_from=2, **section("Row 1: knit.", "Row 1: purl.")))
    shown = as_hana.post(page, typed(began_from=2, techniques="lace"))
    as_hana.post(page, as_shown(shown) | {"choice_section.s1": THEIRS})
    (stored,) = clue.revision.sections.all()
    assert [way.body for way in stored.ways.all()] == ["Row 1: knit.", "Row 1: purl."]
    assert clue.revision.techniques == "lace"


def test_a_third_save_meanwhile_is_put_together_with_what_was_chosen(
    as_hana, as_ines, knit_along, clue, page
):
    as_ines.post(page, typed(body="Cast on 9."))
    sent = as_shown(as_hana.post(page, typed(body="Cast on 7.", techniques="lace")))
    as_ines.post(page, typed(began_from=2, body="Cast on 9.", grams_A="5"))
    shown = as_hana.post(page, sent | {"choice_body": MINE})
    assert shown.status_code == 409
    sent = as_shown(shown)
    assert "asked" not in sent
    as_hana.post(page, sent)
    newest = clue.revision
    assert (newest.number, newest.body, newest.techniques) == (4, "Cast on 7.", "lace")
    assert [str(use) for use in newest.letter_uses.all()] == ["A: 5.0 g"]


def test_unsaved_words_behind_a_save_are_put_together_with_it(as_hana, as_ines, clue, page):
    as_hana.post(f"{page}keep/", typed(body="Cast on 7.", techniques="lace"))
    as_ines.post(page, typed(body="Cast on 9.", title="Pier"))
    shown = as_hana.get(page)
    assert 'value="Pier"' in words(shown)
    sent = as_shown(shown)
    assert sent["asked"] == ["body"]
    assert sent["techniques"] == ["lace"]
    as_hana.post(f"{page}keep/", sent)
    kept = as_shown(as_hana.get(page))
    assert kept["asked"] == ["body"], "the question is still there when the page is opened again"


def test_a_question_left_open_is_not_forgotten_when_somebody_saves_again(
    as_hana, as_ines, clue, page
):
    as_ines.post(page, typed(body="Cast on 9."))
    sent = as_shown(as_hana.post(page, typed(body="Cast on 7.", techniques="lace")))
    as_hana.post(f"{page}keep/", sent)
    as_ines.post(page, typed(began_from=2, body="Cast on 9.", grams_A="5"))
    again = as_shown(as_hana.get(page))
    assert again["asked"] == ["body"]
    assert (again["grams_A"], again["techniques"]) == (["5.0"], ["lace"])


def test_words_that_cannot_be_read_are_kept_and_still_meet_theirs(as_hana, as_ines, clue, page):
    as_hana.post(f"{page}keep/", typed(body="Cast on 7.", grams_A="a lot"))
    as_ines.post(page, typed(body="Cast on 9."))
    shown = as_hana.get(page)
    assert "then both are laid side by side" in words(shown)
    sent = as_shown(shown)
    assert (sent["began_from"], sent["grams_A"]) == (["1"], ["a lot"])
    assert as_hana.post(page, sent).status_code == 422
    met = as_hana.post(page, sent | {"grams_A": "3"})
    assert met.status_code == 409
    assert as_shown(met)["asked"] == ["body"]


def test_a_beginning_that_is_not_there_is_asked_about_in_full(as_hana, as_ines, clue, page):
    as_ines.post(page, typed(techniques="grafting"))
    shown = as_hana.post(page, typed(began_from=98765, grams_A="12"))
    assert shown.status_code == 409
    assert as_shown(shown)["asked"] == ["techniques", "use.A"]
    huge = as_hana.post(page, typed(began_from=10**30, asked="body", choice_body=THEIRS))
    assert huge.status_code == 409


@pytest.mark.parametrize(
    "asked",
    [
        *("../body", "way.zz.q", "file.x", "file.99999999999999999999", "foo", "", "body\0"),
        *("use", "meeting", "meeting.A", "file", "way.s1"),
    ],
)
@pytest.mark.parametrize("choice", [THEIRS, "everything", ""])
def test_answers_to_what_was_not_asked_change_nothing(as_hana, clue, page, asked, choice):
    sent = typed(body="Cast on 7.", asked=asked) | {f"choice_{asked}": choice}
    assert as_hana.post(page, sent).status_code in (302, 422)
    assert clue.revision.body in ("Cast on 5.", "Cast on 7.")
    assert Clue.objects.get().title == "Harbour wall"


def test_dropping_mine_takes_theirs_whole(as_hana, as_ines, clue, page):
    as_hana.post(f"{page}keep/", typed(body="Cast on 7."))
    as_ines.post(page, typed(body="Cast on 9."))
    as_hana.post(f"{page}discard/")
    assert not UnsavedWords.objects.exists()
    assert as_shown(as_hana.get(page))["body"] == ["Cast on 9."]
