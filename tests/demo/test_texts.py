"""The clues' words and files, made from fixtures/demo."""

from io import BytesIO

import pytest
from PIL import Image
from pypdf import PdfReader

from kal.demo.chart import chart_in_words, chart_png
from kal.demo.pattern import SCARF, SHAWL
from kal.demo.pdf import page_pdf
from kal.demo.texts import clue_text, opening_and_sections, without_marks
from schedule.counts import count_problems, counted_parts
from schedule.drafts import Draft

CLUES = [
    *(("shawl", SHAWL, number) for number in range(1, 7)),
    *(("scarf", SCARF, number) for number in range(1, 5)),
]


@pytest.mark.parametrize(("name", "pattern", "number"), CLUES)
def test_each_clue_names_its_own_counts_and_colours(name, pattern, number):
    text = clue_text(name, pattern, number)
    assert f"{pattern.counts[number]}" in text
    assert "$" not in text
    for letter in pattern.grams(number):
        assert f" g of {letter}" in text


@pytest.mark.parametrize(("name", "number"), [("shawl", 1), ("scarf", 1)])
def test_the_first_clue_tells_to_rest_and_whom_to_ask(name, number):
    text = clue_text(name, SHAWL, number)
    assert "half hour" in text
    assert "doctor" in text


def test_the_last_clue_warns_of_dye_that_bleeds():
    assert "bleed" in clue_text("shawl", SHAWL, 6)


@pytest.mark.parametrize(("name", "pattern", "number"), CLUES)
def test_a_page_of_it_opens_as_pdf_and_says_the_same(name, pattern, number):
    text = without_marks(clue_text(name, pattern, number))
    page = page_pdf("Clue", text)
    shown = PdfReader(BytesIO(page), strict=True).pages[0].extract_text()
    assert "".join(text.split()) in "".join(shown.split())
    assert page == page_pdf("Clue", text)


def test_paper_shows_no_marks_but_the_asterisks_of_a_repeat():
    assert without_marks("### Now\n\nKnit **two** \\*k1\\*, turn.\n\n- *Back:* purl.") == (
        "Now\n\nKnit two *k1*, turn.\n\n- Back: purl."
    )


@pytest.mark.parametrize("section", SHAWL.sections, ids=lambda section: section.title)
def test_a_chart_is_the_same_picture_each_time_and_is_told_in_words(section):
    picture = chart_png(section)
    assert picture == chart_png(section)
    assert Image.open(BytesIO(picture)).format == "PNG"
    assert all(ridge.letter in chart_in_words(section) for ridge in section.repeat[-6:])


@pytest.mark.parametrize(("name", "pattern", "number"), CLUES)
def test_the_rows_of_each_clue_agree_and_lead_on_from_the_one_before(name, pattern, number):
    opening, sections = opening_and_sections(name, pattern, number)
    draft = Draft("T", True, opening, {}, frozenset(), sections=sections)
    assert count_problems(draft) == ()
    assert counted_parts(draft)[-1].end == (
        0 if number == len(pattern.sections) else pattern.counts[number]
    )
    assert "@" not in "".join(draft.texts)


def test_two_clues_of_the_shawl_offer_a_plain_way_and_another():
    offering = {
        number: [way.name for way in section.ways]
        for number in range(1, 7)
        for section in opening_and_sections("shawl", SHAWL, number)[1]
        if section.promises_choice
    }
    assert offering == {
        2: ["The plain way", "The slipped way"],
        6: ["The plain way", "The sewn way"],
    }
