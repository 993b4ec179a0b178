"""Writing a clue's sections with their ways and counted rows, its meetings and its videos."""

import re
from datetime import timedelta

import pytest
import time_machine

from schedule.drafts import draft_of
from schedule.models import Clue, Meeting
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
    return make_clue(knit_along, body="Wind the yarn.")


@pytest.fixture
def page(knit_along):
    return f"/k/{knit_along.slug}/desk/clues/1/"


def row_list(prefix, rows):
    """What a list of rows sends, lists within rows as well."""
    sent = {f"{prefix}-TOTAL_FORMS": len(rows), f"{prefix}-INITIAL_FORMS": 0}
    for place, row in enumerate(rows):
        for name, value in row.items():
            if isinstance(value, list):
                sent |= row_list(f"{prefix}-{place}-{name}", value)
            else:
                sent[f"{prefix}-{place}-{name}"] = value
    return sent


def section(title="The edge", ways=({"body": "Knit."},), parts=(), **fields):
    return {"title": title, "ways": list(ways), "parts": list(parts), **fields}


def sent(*sections, meetings=(), videos=(), **fields):
    return (
        typed("Wind the yarn.")
        | row_list("sections", sections)
        | row_list("meetings", meetings)
        | row_list("videos", videos)
        | fields
    )


PLAIN = {"name": "The plain way", "body": "Bind off."}
GRAFTED = {"name": "The grafted way", "technique": "grafting", "body": "Graft the edges."}


def test_sections_ways_rows_meetings_and_videos_are_stored_and_come_back(as_hana, clue, page):
    response = as_hana.post(
        page,
        sent(
            section(
                ways=[PLAIN, GRAFTED],
                promises_choice="on",
                parts=[
                    {"kind": "cast-on", "start": 9, "letters": "A"},
                    {
                        "kind": "rows",
                        "name": "Growing rows",
                        "start": "9",
                        "rows": "4",
                        "numbers": "4, 0",
                        "letters": "aab",
                        "states_end": "17",
                        "repeat_stitches": "4",
                        "repeat_edge": "1",
                        "repeat_rows": "2",
                    },
                    {"kind": "short-rows", "start": "17", "numbers": "5 10 15", "letters": "B"},
                    {"kind": "bind-off", "start": "17"},
                ],
            ),
            section("Blocking", [{"body": "Soak it."}]),
            meetings=[{"first": "C", "second": "B", "technique": "stripes", "needs": "strong"}],
            videos=[{"title": "Grafting, slowly", "url": "https://films.example/7"}],
            techniques="grafting,  short rows ",
            grams_A="12",
            use_note_A="about 48 m",
        ),
    )
    assert response.status_code == 302
    draft = draft_of(clue)
    edge, blocking = draft.sections
    assert [way.name for way in edge.ways] == ["The plain way", "The grafted way"]
    assert edge.promises_choice
    assert (blocking.title, blocking.ways[0].body) == ("Blocking", "Soak it.")
    growing = edge.parts[1]
    assert (growing.start, growing.rows, growing.changes, growing.letters) == (9, 4, (4, 0), "AAB")
    assert (growing.repeat_stitches, growing.repeat_edge, growing.states_end) == (4, 1, 17)
    assert edge.parts[2].worked == (5, 10, 15)
    meeting = Meeting.objects.get()
    assert (meeting.first, meeting.second, meeting.needs) == ("B", "C", "strong")
    assert [(video.title, video.url) for video in draft.videos] == [
        ("Grafting, slowly", "https://films.example/7")
    ]
    assert draft.all_techniques == ("grafting", "short rows")
    assert draft.use_notes == {"A": "about 48 m"}
    shown = words(as_hana.get(page))
    assert "Graft the edges.</textarea>" in shown
    assert 'value="4, 0"' in shown
    assert "do not agree" not in shown


def test_saving_what_is_stored_again_changes_nothing_and_keeps_the_keys(as_hana, clue, page):
    as_hana.post(page, sent(section(ways=[PLAIN, GRAFTED])))
    before = draft_of(clue)
    keyed = section(
        key=before.sections[0].key,
        ways=[
            way | {"key": stored.key}
            for way, stored in zip([PLAIN, GRAFTED], before.sections[0].ways, strict=True)
        ],
    )
    response = as_hana.post(page, sent(keyed, began_from=2), follow=True)
    assert "Nothing was changed." in words(response)
    as_hana.post(page, sent(keyed | {"title": "Border"}, began_from=2))
    after = draft_of(clue).sections[0]
    assert after.title == "Border"
    assert after.key == before.sections[0].key
    assert [way.key for way in after.ways] == [way.key for way in before.sections[0].ways]


def test_counts_that_disagree_are_named_with_both_numbers(as_hana, clue, page):
    rows = [
        {"name": "Border", "start": "9", "rows": "2", "numbers": "4", "states_end": "18"},
        {"name": "Middle", "start": "16", "rows": "1"},
    ]
    Clue.objects.update(ready_at=None)
    as_hana.post(page, sent(section(parts=rows)))
    shown = words(as_hana.get(page))
    assert "Border says it ends with 18 stitches; its 2 rows from 9 stitches end with 17." in shown
    assert "Border ends with 17 stitches, but Middle starts with 16." in shown


def test_what_is_refused_is_listed_first_with_links_to_its_fields(as_hana, clue, page):
    parts = [{"start": "9", "rows": "2"}, {"start": "", "rows": "4"}]
    meetings = row_list("meetings", [{"first": "A", "second": "A"}])
    refused = sent(section(parts=parts), title="x" * 121, **meetings)
    shown = words(as_hana.post(page, refused))
    head = shown.partition("<h2>Sections</h2>")[0]
    assert '<div class="form-errors faults" role="alert" tabindex="-1" autofocus>' in head
    links = re.findall(r'<li><a href="#([^"]+)">([^<]+)</a>', head)
    assert links[0][0] == "id_title"
    assert links[1] == ("id_sections-0-parts-1-start", "Section 1, Rows 2, Stitches at the start")
    assert links[2][1].startswith("Meeting 1")
    for target, _words in links:
        assert f'id="{target}"' in shown
    assert "Say how many stitches these rows start from." in head


def test_a_new_row_that_nobody_touched_is_no_error_and_no_row(as_hana, clue, page):
    added = words(as_hana.post(page, sent(section()) | {"add": "sections-0-parts"}))
    assert 'name="sections-0-parts-0-start"' in added
    assert "field-error" not in added
    assert "Nothing is saved yet" not in added
    # As a browser sends the row that came.
    untouched = {"kind": "rows", "start": "", "rows": "", "numbers": "", "letters": "A"}
    assert as_hana.post(page, sent(section(parts=[untouched]))).status_code == 302
    assert draft_of(clue).sections[0].parts == ()


@pytest.mark.parametrize(
    ("rows", "sentence"),
    [
        ({"start": "", "rows": "4"}, "Say how many stitches these rows start from."),
        ({"start": "9", "rows": "9", "letters": "AZ"}, "has no colour Z; its letters are ABCDE"),
        ({"start": "9", "rows": "4", "numbers": "four"}, "“four” is not a whole number"),
        ({"start": "9", "rows": "4", "numbers": "-5"}, "row 2 would be left with -1 stitches"),
        ({"kind": "short-rows", "start": "9", "numbers": "12"}, "short row 1 works 12 stitches"),
        ({"start": "9", "rows": "9999"}, "At most 5000."),
        ({"start": "-1"}, "At least 0."),
    ],
)
def test_rows_that_cannot_be_are_refused_with_what_was_typed(as_hana, clue, page, rows, sentence):
    response = as_hana.post(page, sent(section(parts=[rows], ways=[{"body": "A new way"}])))
    assert response.status_code == 422
    assert sentence in words(response)
    assert "A new way</textarea>" in words(response)
    assert clue.revisions.count() == 1


@pytest.mark.parametrize(
    ("meetings", "sentence"),
    [
        ([{"first": "A", "second": "A"}], "A letter cannot meet itself"),
        ([{"first": "A", "technique": "stripes"}], "Name both letters that meet."),
        ([{"first": "A", "second": "B"}, {"first": "B", "second": "A"}], "A and B meet twice"),
        ([{"first": "A", "second": "Q"}], "Q is not one of the available choices"),
    ],
)
def test_meetings_that_cannot_be_are_refused(as_hana, clue, page, meetings, sentence):
    response = as_hana.post(page, sent(meetings=meetings))
    assert response.status_code == 422
    assert sentence in words(response)


@pytest.mark.parametrize(
    ("video", "sentence"),
    [
        ({"title": "Film", "url": "http://films.example/7"}, "starts with https://"),
        ({"title": "Film", "url": "javascript:alert(1)"}, "Enter a valid URL."),
        ({"title": "Film"}, "Give the address of the video."),
        ({"url": "https://films.example/7"}, "Say what the video shows."),
    ],
)
def test_a_video_is_a_named_https_link(as_hana, clue, page, video, sentence):
    response = as_hana.post(page, sent(videos=[video]))
    assert response.status_code == 422
    assert sentence in words(response)


def test_one_more_row_comes_without_script_and_without_saving(as_hana, clue, page):
    shown = as_hana.post(page, sent(section(ways=[PLAIN]), add="sections-0-ways"))
    assert shown.status_code == 200
    assert 'name="sections-0-ways-1-body"' in words(shown)
    assert "Bind off.</textarea>" in words(shown)
    shown = words(as_hana.post(page, sent(section(), add="sections")))
    assert 'name="sections-1-ways-0-body"' in shown
    assert 'name="meetings-0-first"' in words(as_hana.post(page, sent(add="meetings")))
    assert as_hana.post(page, sent(add="sections-0-ways-1-body")).status_code == 200
    assert clue.revisions.count() == 1


def test_a_section_moves_to_its_place_and_one_taken_out_is_gone(as_hana, clue, page):
    as_hana.post(
        page,
        sent(section("First", ORDER=2), section("Second", ORDER=1), section("Gone", DELETE="on")),
    )
    assert [part.title for part in draft_of(clue).sections] == ["Second", "First"]


def test_a_form_cut_short_on_its_way_takes_nothing_out(as_hana, clue, page):
    as_hana.post(page, sent(section()))
    cut = {"began_from": 2, "title": "Harbour wall", "body": "Wind the yarn."}
    assert as_hana.post(page, cut).status_code == 422
    assert len(draft_of(clue).sections) == 1


def test_a_participant_reads_the_plain_way_with_the_other_a_click_away(
    as_hana, as_kit, clue, page, clock
):
    video = {"title": "Grafting, slowly", "url": "https://films.example/7"}
    as_hana.post(page, sent(section(ways=[PLAIN, GRAFTED]), videos=[video], techniques="stripes"))
    clock.move_to(NOON)
    shown = words(as_kit.get(f"/k/{clue.knit_along.slug}/clues/1/"))
    assert shown.index("Bind off.") < shown.index("<details") < shown.index("Graft the edges.")
    assert ">Grafting, slowly</a>" in shown
    assert "opens films.example" in shown
    assert "<iframe" not in shown
    assert "<strong>Techniques:</strong> stripes, grafting" in shown


def test_what_is_typed_is_previewed_without_saving(as_hana, as_kit, clue, page):
    typed = sent(section(ways=[{"body": "# Rows\n\nRow 1: k5\nRow 2: p5"}]))
    shown = words(as_hana.post(f"{page}try/", typed))
    assert "Row 1: k5<br> Row 2: p5" in shown
    part = as_hana.post(f"{page}try/", typed, headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part
    assert "Row 1: k5" in part
    assert clue.revisions.count() == 1
    assert as_hana.post(f"{page}try/", sent(meetings=[{"first": "A"}])).status_code == 422
    assert as_kit.post(f"{page}try/", typed).status_code == 404
