"""Pictures of one's own yarns: which there are, what they show, whose they are, and in words."""

import re
from io import BytesIO

import numpy as np
import pytest
from django.core.files.base import ContentFile
from django.urls import reverse
from PIL import Image

from palettes.colour.difference import delta_e_2000
from palettes.colour.light import Box
from palettes.colour.sight import SIGHTS, Sight
from palettes.colour.spaces import Lab, srgb_to_linear
from palettes.colour.swatch import Fabric, Swatch
from palettes.colour.textures import ROW_PIXELS, Texture, mean_colour
from palettes.models import Photo
from palettes.picture_page import TEXTURE_WORDS
from palettes.pictures import (
    GAP,
    HEIGHT,
    PANEL,
    WIDTH,
    Shown,
    Strand,
    draw,
    picture_file,
    strand_of,
)
from tests.builders import make_palette, make_participant, make_yarn

HTMX = {"HX-Request": "true"}
NAMES = ("Ink pad", "Oat milk", "Brick kiln")
LABS = ((25, 5, -30), (85, 0, 12), (45, 45, 30))


@pytest.fixture
def palette(kit):
    palette = make_palette(kit)
    for n, (name, lab) in enumerate(zip(NAMES, LABS, strict=True)):
        fields = dict(zip(("lab_l", "lab_a", "lab_b"), lab, strict=True))
        make_yarn(palette, name=name, place="chosen", position=n, **fields)
    make_yarn(palette, name="Plum jam", lab_l=26, lab_a=7, lab_b=-28)
    return palette


@pytest.fixture
def page(knit_along):
    return reverse("palettes:pictures", args=[knit_along.slug])


@pytest.fixture
def picture(knit_along):
    return reverse("palettes:picture", args=[knit_along.slug])


def key(palette, name):
    return palette.yarns.get(name=name).pk


def images(response):
    """Return the address and the words of every picture on the page."""
    found = re.findall(
        r'<img class="panels" src="([^"]+)"[^>]* alt="([^"]+)"', response.content.decode()
    )
    return [(address.replace("&amp;", "&"), alt) for address, alt in found]


def text_of(response):
    return " ".join(re.sub(r"<[^>]+>", " ", response.content.decode()).split())


def pixels_of(data):
    with Image.open(BytesIO(data)) as image:
        return np.asarray(image.convert("RGB"))


def panels_of(sheet):
    """Return the three panels of a picture."""
    return [sheet[:, n * (PANEL + GAP) : n * (PANEL + GAP) + PANEL] for n in range(3)]


def shown(texture, *labs, sight=Sight.COLOUR, **fields):
    strands = tuple(Strand(Swatch("yarn", Lab(*lab), **fields)) for lab in labs)
    return Shown(texture, strands, Fabric(), sight)


class TestThePage:
    """Every pair and every texture of the yarns picked, each with what can be seen in words."""

    def test_every_texture_has_its_words(self):
        assert TEXTURE_WORDS.keys() == set(Texture)

    def test_opens_with_the_first_three_chosen(self, as_kit, palette, page):
        response = as_kit.get(page)
        found = images(response)
        assert len(found) == 3 + 4 + 2
        assert "Ink pad and Oat milk : ●●● strong" in text_of(response)
        for address, alt in found:
            assert as_kit.get(address)["Content-Type"] == "image/webp"
            assert "In colour." in alt
            assert "Near and far they" in alt or "across a room they" in alt

    def test_two_yarns_are_one_pair_and_no_three_colour_textures(self, as_kit, palette, page):
        asked = {"first": key(palette, "Ink pad"), "second": key(palette, "Plum jam")}
        response = as_kit.get(page, asked)
        assert len(images(response)) == 1 + 4
        alts = " ".join(alt for _, alt in images(response))
        assert "In hand they come close" in alts or "they can hardly be told apart" in alts
        # The card shows the chosen and the one that is tried beside them.
        assert "Brick kiln, " in response.context["pictures"].card_label
        assert "Plum jam, " in response.context["pictures"].card_label

    def test_equal_lightness_runs_together_in_grey_alone(self, as_kit, palette, page):
        for name, a in (("Red", 50), ("Green", -50)):
            make_yarn(palette, name=name, lab_l=55, lab_a=a, lab_b=20)
        asked = {"first": key(palette, "Red"), "second": key(palette, "Green")}
        said = {
            sight: images(as_kit.get(page, asked | {"sight": sight}))[0][1]
            for sight in ("colour", "grey")
        }
        assert "In colour. Near and far they stand well apart." in said["colour"]
        assert "In grey. Near and far they run together." in said["grey"]

    @pytest.mark.parametrize("sight", SIGHTS)
    def test_everything_is_seen_the_way_that_was_picked(self, as_kit, palette, page, sight):
        response = as_kit.get(page, {"sight": sight})
        assert all(f"sight={sight}&" in address for address, _ in images(response))
        assert re.search(rf'value="{sight}"[^>]* checked', response.content.decode())
        words = text_of(response)
        assert str(response.context["pictures"].sight_words) in words

    def test_htmx_gets_the_pictures_alone(self, as_kit, palette, page):
        html = as_kit.get(page, headers=HTMX).content.decode()
        assert html.lstrip().startswith('<div id="pictures"')
        assert len(re.findall("<img", html)) == 9

    def test_links_to_every_pair_of_the_chosen(self, as_kit, palette, page):
        response = as_kit.get(page)
        links = re.findall(r'href="(\?first=[^"]+)"', response.content.decode())
        assert len(links) == 3
        assert len(images(as_kit.get(page + links[0].replace("&amp;", "&")))) == 5

    def test_counts_its_queries(self, as_kit, palette, page, django_assert_num_queries):
        as_kit.get(page)
        for n in range(20):
            make_yarn(palette, lab_l=20.0 + n)
        with django_assert_num_queries(4):
            as_kit.get(page)

    def test_the_same_yarn_twice_is_refused_and_stays_picked(self, as_kit, palette, page):
        pk = key(palette, "Oat milk")
        response = as_kit.get(page, {"first": pk, "second": pk})
        assert response.status_code == 422
        assert "Pick yarns that differ: one of them is named twice." in text_of(response)
        assert response.content.decode().count(f'value="{pk}" selected') == 2

    @pytest.mark.parametrize(
        ("asked", "said"),
        [
            ({"first": "0", "second": "1"}, "That yarn is no longer among yours; pick another."),
            ({"first": "", "second": ""}, "Pick two yarns."),
            ({"sight": "x-ray"}, "Say how to look at them: pick one of the five."),
        ],
    )
    def test_a_question_it_cannot_read_is_one_sentence(self, as_kit, palette, page, asked, said):
        response = as_kit.get(page, asked)
        assert response.status_code == 422
        assert said in text_of(response)

    @pytest.mark.parametrize("count", [0, 1])
    def test_too_few_yarns_say_what_to_do(self, as_kit, kit, page, count):
        palette = make_palette(kit)
        for _ in range(count):
            make_yarn(palette)
        response = as_kit.get(page)
        assert response.status_code == 200
        assert "It takes two yarns" in text_of(response)

    def test_a_stranger_gets_404(self, as_sam, page, picture):
        assert as_sam.get(page).status_code == 404
        assert as_sam.get(picture).status_code == 404


class TestThePicture:
    """The file shows the participant's own yarns, and is kept by a browser until they change."""

    def asked(self, palette, *names, texture="mosaic", **more):
        return {
            "texture": texture,
            "sight": "colour",
            "yarn": [key(palette, n) for n in names],
        } | more

    def test_is_kept_under_its_version_alone(self, as_kit, palette, page, picture):
        address, _ = images(as_kit.get(page))[0]
        assert as_kit.get(address)["Cache-Control"] == "private, max-age=31536000, immutable"
        asked = self.asked(palette, "Ink pad", "Oat milk", version="old")
        assert as_kit.get(picture, asked)["Cache-Control"] == "no-store"

    def test_has_another_address_once_the_yarn_changes(self, as_kit, palette, page):
        before = {address for address, _ in images(as_kit.get(page))}
        palette.yarns.filter(name="Ink pad").update(lab_l=30)
        after = {address for address, _ in images(as_kit.get(page))}
        unchanged = before & after
        assert all(
            str(key(palette, "Ink pad")) not in re.findall(r"yarn=(\d+)", a) for a in unchanged
        )
        assert len(unchanged) == 1

    @pytest.mark.parametrize(
        "wrong",
        [
            {"texture": "entrelac"},
            {"texture": "three-colour-ridges"},
            {"sight": "x-ray"},
            {"yarn": []},
            {"yarn": ["1" * 5000, "x"]},
        ],
    )
    def test_what_there_is_no_picture_of_is_404(self, as_kit, palette, picture, wrong):
        asked = self.asked(palette, "Ink pad", "Oat milk") | wrong
        assert as_kit.get(picture, asked).status_code == 404

    def test_somebody_elses_yarn_is_404(self, as_kit, palette, knit_along, picture):
        theirs = make_yarn(make_palette(make_participant(knit_along, "Ann")))
        asked = self.asked(palette, "Ink pad") | {"yarn": [key(palette, "Ink pad"), theirs.pk]}
        assert as_kit.get(picture, asked).status_code == 404

    def test_a_post_is_refused(self, as_kit, picture):
        assert as_kit.post(picture).status_code == 405


class TestWhatIsDrawn:
    """Each panel keeps the yarns' colours; farther away less is left; the file is true to it."""

    @pytest.mark.parametrize("texture", Texture)
    def test_has_three_panels_with_the_page_between(self, texture):
        sheet = draw(shown(texture, *LABS[: 3 if texture.startswith("three") else 2]))
        assert sheet.shape == (HEIGHT, WIDTH, 3)
        assert np.ptp(sheet[:, PANEL : PANEL + GAP], axis=(0, 1)) == pytest.approx([0, 0, 0])
        left = [panel.std(axis=(0, 1)).sum() for panel in panels_of(sheet)]
        assert left == sorted(left, reverse=True)

    @pytest.mark.parametrize("gauge", [Fabric(10, 14), Fabric(22, 44), Fabric(40, 52)])
    def test_any_gauge_fills_the_panels(self, gauge):
        sheet = draw(Shown(Texture.RIB, shown(Texture.RIB, *LABS[:2]).strands, gauge, Sight.COLOUR))
        assert sheet.shape == (HEIGHT, WIDTH, 3)

    @pytest.mark.parametrize("lab", LABS)
    def test_the_file_keeps_a_yarns_colour(self, lab):
        one = shown(Texture.RIDGES, lab, lab)
        for panel in panels_of(srgb_to_linear(pixels_of(picture_file(one)) / 255)):
            assert delta_e_2000(mean_colour(panel), Lab(*lab)) < 1

    def test_the_file_keeps_each_stripes_colour(self):
        """The middle rows of a stripe, where its neighbours' blur does not reach in hand."""
        pair = shown(Texture.STRIPE, LABS[2], LABS[1])
        drawn = panels_of(draw(pair))[0]
        stored = panels_of(srgb_to_linear(pixels_of(picture_file(pair)) / 255))[0]
        for rows in (slice(12, 36), slice(60, 84)):
            before, after = (mean_colour(panel[rows]) for panel in (drawn, stored))
            assert delta_e_2000(before, after) < 1

    def test_grey_has_no_hue_in_it(self):
        grey = draw(shown(Texture.MOSAIC, *LABS[:2], sight=Sight.GREY, spread=6.0))
        for panel in panels_of(grey):
            assert np.ptp(panel, axis=-1).max() < 1e-9

    def test_the_file_has_nothing_but_pixels(self):
        with Image.open(BytesIO(picture_file(shown(Texture.RIB, *LABS[:2])))) as image:
            assert image.size == (WIDTH, HEIGHT)
            assert not image.getexif()
            assert "icc_profile" not in image.info

    def test_a_measured_yarn_is_drawn_with_its_own_photo(self, kit, palette):
        """Of a photo in two greys every stitch is the light or the dark one, none in between."""
        yarn = palette.yarns.get(name="Oat milk")
        yarn.photo, yarn.region, yarn.spread = store_photo(kit), Box(0.0, 0.0, 1.0, 1.0), 8.0
        strands = Strand(yarn.swatch()), strand_of(yarn)
        assert strands[1].region == yarn.region
        invented, real = (
            panels_of(draw(Shown(Texture.RIDGES, (strand, strand), Fabric(), Sight.COLOUR)))[0]
            for strand in strands
        )
        assert delta_e_2000(mean_colour(real), yarn.lab) < 4
        assert share_of_extremes(real) > 0.9 > share_of_extremes(invented)

    def test_equal_questions_are_drawn_once(self, monkeypatch):
        one = shown(Texture.MOSAIC, (33, 3, 3), (66, 6, 6))
        first = picture_file(one)
        monkeypatch.setattr("palettes.pictures.draw", None)
        assert picture_file(shown(Texture.MOSAIC, (33, 3, 3), (66, 6, 6))) is first


def share_of_extremes(panel):
    """Return the share of stitches nearly as light as the lightest or as dark as the darkest."""
    rows = PANEL // ROW_PIXELS
    stitches = panel[..., 1].reshape(rows, ROW_PIXELS, -1, 2 * ROW_PIXELS).mean(axis=(1, 3))
    place = (stitches - stitches.min()) / np.ptp(stitches)
    return (np.minimum(place, 1 - place) < 0.2).mean()


def store_photo(participant):
    pixels = np.full((200, 200, 3), 190, dtype=np.uint8)
    pixels[:, 120:] = 110
    buffer = BytesIO()
    Image.fromarray(pixels).save(buffer, "WEBP", lossless=True)
    photo = Photo(participant=participant, width=200, height=200)
    photo.image.save("", ContentFile(buffer.getvalue()), save=True)
    return photo
