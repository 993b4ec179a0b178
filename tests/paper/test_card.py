"""The palette card, read back with pypdf."""

import dataclasses
import subprocess
import sys
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PageObject, PdfReader
from pypdf.generic import ContentStream

from kal.paper.sheets import MARGIN, Paper
from kal.typeset import MISSING
from palettes.card import BadCard, Card, CardPair, CardYarn, card_pdf
from palettes.card.wrapped import strand_colours
from palettes.colour.contrast import Grade
from palettes.colour.errors import BadLab
from palettes.colour.spaces import Lab, grey_hex, hex_to_lab

NAMES = ("Harbour", "Undyed", "Rowan", "Lichen", "Barley", "Damson", "Frost", "Peat")
HEXES = (
    *("#1f2a44", "#f2ead8", "#b5532a", "#6f8f72"),
    *("#d9a441", "#7a3f5c", "#9fb8c4", "#2b2b2b"),
)


def make_yarn(i: int = 0, **changes) -> CardYarn:
    yarn = CardYarn(
        letter="ABCDEFGH"[i],
        name=NAMES[i],
        lab=hex_to_lab(HEXES[i]),
        colour_words="dark blue, near purple",
        spread=float(i),
        dye_style="semi-solid",
        fibre="75 % merino, 25 % nylon",
        put_up="100 g, 400 m",
        balls_to_have=i + 1,
    )
    return dataclasses.replace(yarn, **changes)


def make_card(count: int = 5, **changes) -> Card:
    grades = list(Grade)
    pairs = [
        CardPair(first, second, grades[(first + second) % 4])
        for second in range(count)
        for first in range(second)
    ]
    yarns = [make_yarn(i) for i in range(count)]
    card = Card("The Lantern Walk", "Kit Marlow", yarns, pairs, "Registered 3 March 2027")
    return dataclasses.replace(card, **changes)


def only_page(data: bytes) -> PageObject:
    (page,) = PdfReader(BytesIO(data)).pages
    return page


def words_of(data: bytes) -> str:
    return " ".join(only_page(data).extract_text().split())


def fonts_of(page: PageObject) -> dict[str, Any]:
    resources: Any = page["/Resources"]
    return {name: font.get_object() for name, font in resources["/Font"].items()}


def operations(page: PageObject) -> list[Any]:
    return ContentStream(page.get_contents(), None).operations


@pytest.mark.parametrize("count", range(2, 9))
@pytest.mark.parametrize(
    ("paper", "millimetres"),
    # ISO 216 for A4; 8.5 by 11 inches for Letter.
    [(Paper.A4, (210, 297)), (Paper.LETTER, (215.9, 279.4))],
)
def test_card_is_one_page_of_the_paper(count, paper, millimetres):
    page = only_page(card_pdf(make_card(count), paper))
    size = [float(points) * 25.4 / 72 for points in (page.mediabox.width, page.mediabox.height)]
    assert size == pytest.approx(millimetres, abs=0.01)


def test_every_font_is_truetype_embedded_and_a_subset():
    page = only_page(card_pdf(make_card()))
    fonts = fonts_of(page)
    used = {operands[0] for operands, operator in operations(page) if operator == b"Tf"}
    assert used <= set(fonts)
    embedded = {font["/BaseFont"] for font in fonts.values() if "/FontDescriptor" in font}
    assert {name.split("+")[1] for name in embedded} == {"GentiumPlus", "GentiumPlus-Italic"}
    for font in fonts.values():
        assert font["/Subtype"] == "/TrueType"
        assert 0 < len(font["/FontDescriptor"]["/FontFile2"].get_data()) < 80_000


@pytest.mark.parametrize("paper", Paper)
def test_everything_is_there_in_words(paper):
    text = words_of(card_pdf(make_card(), paper))
    expected = ["The Lantern Walk", "Palette of Kit Marlow", "Registered 3 March 2027"]
    expected += [*NAMES[:5], *HEXES[:5], "dark blue, near purple", "semi-solid"]
    expected += ["75 % merino, 25 % nylon", "100 g, 400 m a ball", "1 ball to have"]
    expected += ["2 balls to have", "lightness L* 17", "wrap A here", "wrap E here"]
    # L* of the second is 92.6, cut as on every page.
    expected += ["A dark 17", "B light 92", "C medium 47", *(grade.value for grade in Grade)]
    expected += ["Wash-test saturated yarns", "Colours differ between screen, paper and wool"]
    assert [words for words in expected if words not in text] == []
    assert MISSING not in text


def test_pair_table_has_the_grade_of_each_pair_once():
    pairs = [CardPair(0, 1, Grade.LOST), CardPair(2, 0, Grade.CLOSE), CardPair(1, 2, Grade.STRONG)]
    text = words_of(card_pdf(make_card(3, pairs=pairs)))
    table = text.partition("side by side")[2]
    # The legend has each word once more.
    assert [table.count(f"{grade.value} ") for grade in Grade] == [2, 1, 2, 2]


def test_swatches_and_greys_have_the_colours():
    page = only_page(card_pdf(make_card()))
    fills = {
        tuple(round(float(part) * 255) for part in operands)
        for operands, operator in operations(page)
        if operator == b"rg"
    }
    for text in HEXES[:5]:
        for colour in (text, grey_hex(hex_to_lab(text))):
            assert tuple(bytes.fromhex(colour[1:])) in fills


LONG = {
    "words": "Wound in the lee of the wall while the kettle sang " * 12,
    "one word": "W" * 600,
    "han": "毛糸の色は桜" * 40,
    "arabic": "خيوط " * 60,
    "emoji": "\N{BALL OF YARN}\N{ZERO WIDTH JOINER}" * 100,
    "marks": "Z" + "\N{COMBINING ACUTE ACCENT}" * 300,
    "controls": "\x00\x1b[31m\n\r\t" * 50,
    "surrogates": "\ud83e" * 90,
    "markup": "<b>&amp;</b> (\\) %s {} " * 30,
    "empty": "",
}


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("count", [2, 8])
@pytest.mark.parametrize("text", LONG.values(), ids=LONG)
def test_no_text_leaves_the_margins(text, count, paper):
    card = make_card(count, knit_along=text, person=text, note=text)
    fields = ("letter", "name", "colour_words", "dye_style", "fibre", "put_up")
    yarns = [dataclasses.replace(yarn, **dict.fromkeys(fields, text)) for yarn in card.yarns]
    page = only_page(card_pdf(dataclasses.replace(card, yarns=yarns), paper))
    boxes = text_boxes(page)
    assert len(boxes) > 10
    width, height = paper.value
    for left, right, baseline in boxes:
        assert MARGIN - 0.1 <= left <= right <= width - MARGIN + 0.1
        assert MARGIN - 0.1 <= baseline <= height - MARGIN


def text_boxes(page: PageObject) -> list[tuple[float, float, float]]:
    """Return left, right and baseline of each string, its width from the embedded widths."""
    fonts = fonts_of(page)
    boxes: list[tuple[float, float, float]] = []
    font: Any = None
    size, at = 0.0, (0.0, 0.0)
    for operands, operator in operations(page):
        if operator == b"Tf":
            font, size = fonts[operands[0]], float(operands[1])
        elif operator == b"Tm":
            at = (float(operands[4]), float(operands[5]))
        elif operator == b"Tj":
            codes = operands[0].original_bytes
            widths = [float(font["/Widths"][code - font["/FirstChar"]]) for code in codes]
            boxes.append((at[0], at[0] + sum(widths) * size / 1000, at[1]))
            at = (boxes[-1][1], at[1])
    return boxes


def test_a_letter_the_fonts_lack_is_shown_and_explained():
    yarns = [make_yarn(0, name="桜"), make_yarn(1)]
    text = words_of(card_pdf(make_card(2, yarns=yarns, pairs=())))
    assert f"{MISSING} stands for a letter" in text
    assert f"{MISSING} stands" not in words_of(card_pdf(make_card(2)))


@pytest.mark.parametrize("name", ["Пряжа осенняя", "Νήμα θάλασσα", "Þórdís Łąka", "Tiếng Việt"])
def test_latin_greek_and_cyrillic_are_printed(name):
    text = words_of(card_pdf(make_card(2, yarns=[make_yarn(0, name=name), make_yarn(1)])))
    assert name in text


def test_a_yarn_with_few_facts_is_still_a_card():
    bare = CardYarn("A", "", Lab(50, 0, 0), "medium neutral, grey")
    text = words_of(card_pdf(Card("Walk", "Kit", [bare, make_yarn(1)])))
    assert "(no name)" in text
    assert "side by side" not in text


def test_the_same_card_gives_the_same_bytes_in_another_process():
    script = (
        "import sys; from tests.paper.test_card import make_card; from palettes.card import *; "
        "sys.stdout.buffer.write(card_pdf(make_card()))"
    )
    other = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True,
        check=True,
        cwd=Path(__file__).parents[2],
        env={"PYTHONHASHSEED": "12345"},
    )
    assert other.stdout == card_pdf(make_card()) == card_pdf(make_card())


def test_strands_keep_the_mean_and_stray_by_the_spread():
    yarn = make_yarn(3, lab=Lab(50, 10, 10), spread=5.0)
    lights = [lab.l for lab in strand_colours(yarn, 400)]
    assert sum(lights) / 400 == pytest.approx(50, abs=0.1)
    assert sum(abs(light - 50) for light in lights) / 400 == pytest.approx(5, abs=0.1)
    assert {lab.l for lab in strand_colours(make_yarn(0, spread=0.0), 9)} == {make_yarn(0).lab.l}


@pytest.mark.parametrize("count", [0, 1, 9])
def test_too_few_or_too_many_yarns_are_refused(count):
    with pytest.raises(BadCard, match=f"A card shows 2 to 8 yarns; this palette has {count}."):
        Card("Walk", "Kit", [make_yarn()] * count)


@pytest.mark.parametrize(("first", "second"), [(0, 2), (-1, 0), (1, 1)])
def test_pairs_must_name_two_yarns_of_the_card(first, second):
    with pytest.raises(BadCard, match="must be two different ones of 0 to 1"):
        Card("Walk", "Kit", [make_yarn(0), make_yarn(1)], [CardPair(first, second, Grade.LOST)])


def test_a_yarn_without_a_colour_is_refused():
    with pytest.raises(BadLab):
        make_yarn(lab=Lab(float("nan"), 0, 0))


labs = st.builds(Lab, st.floats(0, 100), st.floats(-128, 128), st.floats(-128, 128))
yarns = st.builds(
    CardYarn, *[st.text(max_size=150)] * 2, labs, st.text(max_size=150), st.floats(0, 100)
)


@settings(max_examples=25, deadline=None)
@given(st.text(), st.text(), st.lists(yarns, min_size=2, max_size=8), st.sampled_from(Paper))
def test_any_words_and_colours_make_a_page(knit_along, person, yarns, paper):
    assert only_page(card_pdf(Card(knit_along, person, yarns), paper)).extract_text()
