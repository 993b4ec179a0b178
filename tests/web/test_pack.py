"""The preparation pack: the page's own facts on one or two pages of paper."""

from decimal import Decimal
from io import BytesIO

import pytest
from pypdf import PdfReader

from kal.models import LetterNeed
from kal.views.pack_words import balls_in_words
from tests.builders import make_clue, make_knit_along, make_participant
from tests.conftest import signed_in
from tests.pages import words

pytestmark = pytest.mark.usefixtures("noon")


def pack(client, knit_along, query="?paper=a4"):
    return client.get(f"/k/{knit_along.slug}/prepare/pack/{query}")


def text_of(response) -> str:
    pages = PdfReader(BytesIO(response.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_the_page_says_how_to_choose_and_where_the_paper_is(as_kit, knit_along):
    page = words(as_kit.get(f"/k/{knit_along.slug}/prepare/"))
    assert "Lay out about 10 yarns that you like together, then narrow them to the 5" in page
    assert "make the photo grey" in page
    assert "Wind a wrap card" in page
    assert "A speckled or variegated yarn wants a calm one beside it" in page
    assert "100 g: 1 ball of 100 g, or 2 of 50 g." in page
    assert f"/k/{knit_along.slug}/prepare/pack/?paper=letter" in page


@pytest.mark.parametrize(
    ("grams", "line"),
    [
        ("50", None),
        ("50.1", "50.1 g: 1 ball of 100 g, or 2 of 50 g."),
        ("125", "125 g: 2 balls of 100 g, or 3 of 50 g."),
        ("200", "200 g: 2 balls of 100 g, or 4 of 50 g."),
        ("201", "201 g: 3 balls of 100 g, or 5 of 50 g."),
    ],
)
def test_amounts_come_in_whole_balls_as_they_are_sold(knit_along, grams, line):
    knit_along.needs.update(grams=50)
    knit_along.needs.filter(letter="A").update(grams=Decimal(grams))
    told = [" ".join(each.split()) for each in balls_in_words(knit_along, imperial=False)]
    assert told == ([line] if line else [])


def test_it_holds_this_knit_alongs_facts_and_the_cautions(as_kit, kit, knit_along, settings):
    settings.BASE_URL = "https://kal.example"
    make_clue(knit_along, 1, title="Siren")
    kit.user.zone = "America/Toronto"
    kit.user.save()
    knit_along.gauge_stitches = Decimal("23.5")
    knit_along.save()
    answer = pack(as_kit, knit_along)
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Cache-Control"] == "private, no-cache"
    text = text_of(answer)
    assert knit_along.title in text
    assert "5 colours, lettered A, B, C, D, E" in text
    assert "100 g and 400 m of each" in text
    assert "23.5 stitches and 44 rows" in text
    assert "Clue 1: 1 March 2027, 07:00" in text
    assert "Times are in America/Toronto" in text
    assert "Siren" not in text
    assert "Rest and stretch your hands often" in text
    assert "dyes can bleed" in text
    assert f"https://kal.example/k/{knit_along.slug}/prepare/" in text


def test_it_speaks_in_the_readers_units(as_kit, kit, knit_along):
    kit.user.units = "imperial"
    kit.user.save()
    assert "3.5 oz and 438 yd of each" in text_of(pack(as_kit, knit_along))


@pytest.mark.parametrize(
    ("paper", "millimetres"),
    # ISO 216 for A4; 8.5 by 11 inches for US Letter.
    [("a4", (210, 297)), ("letter", (215.9, 279.4))],
)
def test_the_largest_knit_along_takes_two_pages_and_embeds_its_fonts(db, paper, millimetres):
    knit_along = make_knit_along(colour_count=8, title="Mystery " * 15)
    for number, need in enumerate(LetterNeed.objects.filter(knit_along=knit_along)):
        LetterNeed.objects.filter(pk=need.pk).update(grams=60 + 35 * number)
    for number in range(1, 31):
        make_clue(knit_along, number)
    client = signed_in(make_participant(knit_along).user)
    pages = PdfReader(BytesIO(pack(client, knit_along, f"?paper={paper}").content)).pages
    assert len(pages) == 2
    for page in pages:
        size = [float(side) * 25.4 / 72 for side in (page.mediabox.width, page.mediabox.height)]
        assert size == pytest.approx(millimetres, abs=0.01)
        fonts = [font.get_object() for font in page["/Resources"]["/Font"].values()]  # type: ignore[index]
        assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts)
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "30: 20 September 2027" in text
    assert "page 2" in text


def test_the_usual_knit_along_takes_one_page(as_kit, knit_along):
    LetterNeed.objects.filter(knit_along=knit_along, letter__in="BC").update(grams=80)
    LetterNeed.objects.filter(knit_along=knit_along, letter__in="DE").update(grams=50)
    for number in range(1, 6):
        make_clue(knit_along, number)
    assert len(PdfReader(BytesIO(pack(as_kit, knit_along).content)).pages) == 1


def test_no_other_paper_and_no_strangers(as_kit, as_sam, knit_along):
    assert pack(as_kit, knit_along, "?paper=a3").status_code == 404
    assert pack(as_sam, knit_along).status_code == 404


ADVICE = "Bring two lights.\r\nNo mohair.\r\n\r\n\r\nSee https://swatch.example/wash <b>first</b>."


def test_the_organisers_own_words_are_read_where_people_prepare(as_kit, client, knit_along):
    knit_along.theme, knit_along.is_public = ADVICE, True
    knit_along.save()
    for page in (
        as_kit.get(f"/k/{knit_along.slug}/prepare/"),
        client.get(f"/k/{knit_along.slug}/"),
    ):
        html = words(page)
        assert "<p>Bring two lights.<br>No mohair.</p>" in html
        assert '<a href="https://swatch.example/wash" rel="nofollow">' in html
        assert "&lt;b&gt;first&lt;/b&gt;" in html
    text = text_of(pack(as_kit, knit_along))
    assert "From the organiser" in text
    assert "Bring two lights. No mohair." in text


def test_without_such_words_there_is_no_heading_for_them(as_kit, knit_along):
    knit_along.theme = " \n "
    knit_along.save()
    assert "From the organiser" not in text_of(pack(as_kit, knit_along))
    knit_along.theme = ""
    knit_along.save()
    assert "From the organiser" not in words(as_kit.get(f"/k/{knit_along.slug}/prepare/"))
