"""The palette card to print: whose it is, what it says, which paper, and when there is none."""

from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader

from kal.models import User
from palettes.actions import register_palette
from palettes.models import Yarn
from tests.builders import NOON, make_palette, make_yarn

NAMES = ("Ink pad", "Toast", "Sea glass", "Brick kiln", "Oat milk")


@pytest.fixture
def palette(kit):
    palette = make_palette(kit)
    for n, name in enumerate(NAMES):
        make_yarn(
            palette,
            name=name,
            place=Yarn.Place.CHOSEN,
            position=n,
            lab_l=18 + 17 * n,
            fibre="75% wool, 25% nylon",
        )
    make_yarn(palette, name="Plum jam")
    return palette


@pytest.fixture
def card(knit_along):
    return reverse("palettes:card", args=[knit_along.slug])


def page_of(response):
    assert response["Content-Type"] == "application/pdf"
    (page,) = PdfReader(BytesIO(response.content)).pages
    return page


def words_of(response):
    return " ".join(page_of(response).extract_text().split())


@pytest.mark.parametrize(
    ("paper", "millimetres"),
    # ISO 216 for A4; 8.5 by 11 inches for US Letter.
    [("a4", (210, 297)), ("letter", (215.9, 279.4))],
)
def test_is_one_page_of_the_paper_asked_for(as_kit, palette, card, paper, millimetres):
    page = page_of(as_kit.get(card, {"paper": paper}))
    size = [float(points) * 25.4 / 72 for points in (page.mediabox.width, page.mediabox.height)]
    assert size == pytest.approx(millimetres, abs=0.01)


def test_says_every_chosen_yarn_in_words_that_can_be_copied(as_kit, palette, card, knit_along):
    words = words_of(as_kit.get(card))
    assert knit_along.title in words
    for yarn in palette.yarns.chosen():
        assert yarn.name in words
        assert yarn.colour_words in words
    assert "Plum jam" not in words
    assert "Not registered yet" in words
    assert "50 g, 200 m a ball" in words


def test_amounts_are_in_the_readers_units(as_kit, kit, palette, card):
    kit.user.units = User.Units.IMPERIAL
    kit.user.save()
    assert "1.8 oz, 219 yd a ball" in words_of(as_kit.get(card))


def test_says_when_it_was_registered_until_it_changes(as_kit, palette, card):
    register_palette(palette, now=NOON)
    assert "Registered 1 March 2027" in words_of(as_kit.get(card))
    palette.yarns.filter(name="Toast").update(lab_l=70)
    assert "Not registered yet" in words_of(as_kit.get(card))


def test_a_registration_prints_as_it_was(as_kit, palette, knit_along):
    register_palette(palette, now=NOON)
    palette.yarns.filter(name="Toast").update(name="Burnt toast")
    address = reverse("palettes:registration_card", args=[knit_along.slug, 1])
    words = words_of(as_kit.get(address))
    assert "Toast" in words
    assert "Burnt" not in words
    page = as_kit.get(reverse("palettes:registration", args=[knit_along.slug, 1]))
    assert f"{address}?paper=a4" in page.content.decode()
    assert f"{address}?paper=letter" in page.content.decode()


def test_fewer_than_two_yarns_say_what_to_do(as_kit, kit, card, knit_along):
    palette = make_palette(kit)
    for count in (0, 1):
        response = as_kit.get(card)
        assert response.status_code == 422
        assert "Choose at least two yarns, then print their card." in response.content.decode()
        assert palette.yarns.count() == count
        make_yarn(palette, place=Yarn.Place.CHOSEN)


def test_the_palettes_page_leads_to_both_papers(as_kit, palette, card, knit_along):
    page = as_kit.get(reverse("palettes:palette", args=[knit_along.slug])).content.decode()
    assert f'href="{card}?paper=a4"' in page
    assert f'href="{card}?paper=letter"' in page


def test_a_stranger_and_an_unknown_paper_get_404(as_sam, as_kit, palette, card):
    assert as_sam.get(card).status_code == 404
    assert as_kit.get(card, {"paper": "napkin"}).status_code == 404


def test_another_knitters_registration_is_404(as_hana, palette, knit_along):
    register_palette(palette, now=NOON)
    address = reverse("palettes:registration_card", args=[knit_along.slug, 1])
    assert as_hana.get(address).status_code == 404
