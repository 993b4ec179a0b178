"""Marking a photo: white paper and yarns, by numbers, by a click, and what reaches the yarns.

Every page is used here without script; tests/browser/test_photo_marks.py uses it with.
"""

import re

import numpy as np
import pytest
from django.urls import reverse
from django.utils import timezone

from palettes import actions, marking
from palettes.colour.difference import delta_e_2000
from palettes.colour.light import Box
from palettes.colour.spaces import Lab, hex_to_lab
from palettes.measuring import MarkReading, PhotoReading
from palettes.models import Mark, Yarn
from palettes.models.yarn_facts import MeasuredBy
from palettes.photos import read_photo
from tests.builders import make_palette, make_participant, make_yarn
from tests.core.photo_scenes import flat, yarn
from tests.photo_files import from_linear

BLUE, RED, TABLE = (35, 5, -35), (45, 45, 28), (70, 2, 8)
LAMP = np.array([1.0, 0.62, 0.28])


def scene(*, light=0.9, paper_light=1.0):
    """Return a blue and a tonal red skein on a table, white paper at the right."""
    photo = flat(TABLE, 300, 700)
    photo[40:260, 40:280] = yarn(BLUE)[:220]
    photo[40:260, 320:560] = yarn(RED, style="tonal", seed=2)[:220]
    photo[20:280, 600:680] = 0.876 * np.asarray(paper_light)
    return photo * light


@pytest.fixture
def palette(kit):
    return make_palette(kit)


def stored(kit, linear, **options):
    picture = read_photo(from_linear(linear, **options))
    return marking.add_marked_photo(kit, picture, now=timezone.now())


@pytest.fixture
def photo(kit, palette):
    make_yarn(palette, name="Ink")
    return stored(kit, scene())


def address(name, photo):
    return reverse(f"palettes:{name}", args=[photo.participant.knit_along.slug, photo.pk])


def fields(photo, **more):
    """Return what the page would send as it stands, by the names in its own HTML."""
    white = photo.marks.of_white().first()
    sent = {"white": white.kind if white else "", "count": "5"}
    if photo.is_light_trusted:
        sent["is_light_trusted"] = "on"
    for mark in photo.marks.all():
        box = mark.box
        sides = (box.left, box.top, box.right - box.left, box.bottom - box.top)
        names = ("left", "top", "width", "height")
        sent |= {f"mark-{mark.pk}-{n}": f"{s * 100:.1f}" for n, s in zip(names, sides, strict=True)}
        if mark.kind == Mark.Kind.YARN:
            own = str(mark.yarn_id or "")
            sent |= {
                f"mark-{mark.pk}-target": "new" if mark.is_new else own,
                f"mark-{mark.pk}-was": own,
                f"mark-{mark.pk}-name": mark.new_name,
                f"mark-{mark.pk}-dye_style": mark.dye_style,
            }
    return sent | {name.replace("__", "-"): value for name, value in more.items()}


def marked(mark, **values):
    return {f"mark-{mark.pk}-{name}": value for name, value in values.items()}


def only(photo, box):
    """Leave the photo with one yarn's box, and return that."""
    photo.marks.all().delete()
    return Mark.objects.create(photo=photo, box=box)


ON_BLUE, ON_RED = Box(0.08, 0.2, 0.38, 0.8), Box(0.48, 0.2, 0.78, 0.8)


class TestProposing:
    def test_an_upload_comes_with_a_box_on_each_yarn(self, photo):
        boxes = [mark.box for mark in photo.marks.of_yarn()]
        assert any(box.left > 0.05 and box.right < 0.41 for box in boxes)
        assert any(box.left > 0.45 and box.right < 0.81 for box in boxes)

    def test_somebody_without_yarns_is_offered_new_ones(self, kit, palette):
        assert {mark.is_new for mark in stored(kit, scene()).marks.all()} == {True}

    def test_somebody_with_yarns_says_which(self, photo):
        assert {mark.has_target for mark in photo.marks.all()} == {False}

    def test_where_every_yarn_is_measured_a_second_photo_offers_new_ones(self, kit, palette):
        make_yarn(palette, measured_by="photo")
        photo = stored(kit, scene())
        assert {mark.is_new for mark in photo.marks.all()} == {True}
        assert marking.add_mark(photo, ON_RED, now=timezone.now()).is_new
        photo.marks.all().delete()
        marking.find_again(photo, 2, now=timezone.now())
        assert {mark.is_new for mark in photo.marks.all()} == {True}

    def test_looking_again_keeps_whose_a_box_is(self, as_kit, photo):
        ink = Yarn.objects.get()
        mark = only(photo, ON_BLUE)
        Mark.objects.filter(pk=mark.pk).update(yarn=ink, dye_style="tonal")
        as_kit.post(address("find_marks", photo), fields(photo, count="4"))
        kept = photo.marks.get(yarn=ink)
        assert kept.dye_style == "tonal"
        assert kept.pk != mark.pk
        assert photo.marks.count() > 1

    @pytest.mark.parametrize("count", ["0", "41", "many", ""])
    def test_looking_for_no_number_is_refused_and_keeps_the_boxes(self, as_kit, photo, count):
        before = list(photo.marks.values_list("pk"))
        response = as_kit.post(address("find_marks", photo), fields(photo, count=count))
        assert response.status_code == 422
        assert "a whole number from 1 to 40" in response.content.decode()
        assert list(photo.marks.values_list("pk")) == before


class TestPlacing:
    def test_numbers_move_a_box(self, as_kit, photo):
        mark = photo.marks.first()
        sent = fields(photo) | marked(mark, left="10", top="20.5", width="12", height="30")
        response = as_kit.post(address("keep_marks", photo), sent)
        assert response.status_code == 302
        mark.refresh_from_db()
        assert mark.box == Box(0.1, 0.205, 0.22, 0.505)

    @pytest.mark.parametrize(
        ("values", "sentence"),
        [
            ({"left": "95", "width": "20"}, "right edge"),
            ({"top": "95", "height": "20"}, "lower edge"),
            ({"left": "-1"}, "greater than or equal to 0"),
            ({"width": "0"}, "greater than or equal to 0.5"),
            ({"height": "101"}, "less than or equal to 100"),
            ({"left": "nan"}, "Enter a number"),
            ({"top": "abc"}, "Enter a number"),
            ({"top": ""}, "This field is required"),
        ],
    )
    def test_a_box_outside_the_photo_is_refused_and_stays(self, as_kit, photo, values, sentence):
        mark = photo.marks.first()
        box = mark.box
        sent = fields(photo) | marked(mark, name="Typed", target="new") | marked(mark, **values)
        response = as_kit.post(address("keep_marks", photo), sent)
        page = response.content.decode()
        assert response.status_code == 422
        assert sentence in page
        assert "Typed" in page
        mark.refresh_from_db()
        assert mark.box == box

    def test_one_refused_keeps_no_other_back(self, as_kit, photo):
        first, second = photo.marks.all()[:2]
        sent = fields(photo) | marked(first, left="x") | marked(second, dye_style="speckled")
        as_kit.post(address("keep_marks", photo), sent)
        second.refresh_from_db()
        assert second.dye_style == "speckled"

    def test_the_fields_of_the_page_are_those_that_are_read(self, as_kit, photo):
        page = as_kit.get(address("photo", photo)).content.decode()
        shown = set(re.findall(r'name="([^"]+)"', page))
        assert set(fields(photo)) <= shown

    def test_a_click_without_script_adds_a_box_there(self, as_kit, photo):
        """In pixels of the size the photo is shown at, as browsers send an image button."""
        assert f'width="340" height="{photo.shown_height}"' in as_kit.get(
            address("photo", photo)
        ).content.decode().replace("\n", " ")
        sent = fields(photo) | {"spot.x": "170", "spot.y": "73"}
        as_kit.post(address("add_mark", photo), sent)
        added = photo.marks.last().box
        assert (added.left + added.right) / 2 == pytest.approx(0.5, abs=0.005)
        assert (added.top + added.bottom) / 2 == pytest.approx(0.5, abs=0.01)

    @pytest.mark.parametrize(
        "where", [{"at_x": "0", "at_y": "0"}, {"at_x": "100", "at_y": "100"}, {"at_x": "x"}, {}]
    )
    def test_a_box_added_at_the_edge_lies_inside(self, as_kit, photo, where):
        before = photo.marks.count()
        as_kit.post(address("add_mark", photo), fields(photo) | where)
        assert photo.marks.count() == before + 1
        assert photo.marks.last().box.right <= 1

    def test_forty_boxes_are_enough(self, as_kit, photo):
        Mark.objects.bulk_create(Mark(photo=photo, box=ON_RED) for _ in range(40))
        response = as_kit.post(address("add_mark", photo), fields(photo))
        assert response.status_code == 422
        assert "40 boxes at most" in response.content.decode()

    def test_a_box_is_removed_and_others_keep_what_was_typed(self, as_kit, photo):
        first, second = photo.marks.all()[:2]
        sent = fields(photo) | marked(second, target="new", name="Brick") | {"mark": first.pk}
        as_kit.post(address("remove_mark", photo), sent)
        assert not photo.marks.filter(pk=first.pk).exists()
        assert photo.marks.get(pk=second.pk).new_name == "Brick"

    @pytest.mark.parametrize("number", ["999999", "x", "", "-1"])
    def test_no_such_box_is_404(self, as_kit, photo, number):
        response = as_kit.post(address("remove_mark", photo), fields(photo) | {"mark": number})
        assert response.status_code == 404

    def test_a_box_of_another_photo_is_out_of_reach(self, as_kit, kit, photo):
        other = stored(kit, scene()).marks.first()
        sent = fields(photo) | marked(other, left="1", top="1", width="5", height="5")
        as_kit.post(address("keep_marks", photo), sent)
        response = as_kit.post(address("remove_mark", photo), sent | {"mark": other.pk})
        assert response.status_code == 404
        assert Mark.objects.get(pk=other.pk).box == other.box

    def test_one_removed_in_another_window_stays_removed(self, as_kit, photo):
        sent = fields(photo)
        gone = photo.marks.first()
        gone.delete()
        assert as_kit.post(address("keep_marks", photo), sent).status_code == 302
        assert not photo.marks.filter(pk=gone.pk).exists()

    def test_closed_palettes_keep_their_marks(self, as_kit, photo, knit_along):
        mark = photo.marks.first()
        knit_along.palettes_closed_at = timezone.now()
        knit_along.save()
        page = as_kit.get(address("photo", photo)).content.decode()
        assert "has closed the palettes" in page
        sent = fields(photo) | marked(mark, left="1", width="5")
        for action in ("keep_marks", "add_mark", "find_marks", "apply_marks"):
            assert as_kit.post(address(action, photo), sent).status_code == 422
        mark.refresh_from_db()
        assert mark.box != Box(0.01, mark.box.top, 0.06, mark.box.bottom)

    def test_the_page_asks_a_set_number_of_questions(
        self, as_kit, photo, django_assert_max_num_queries
    ):
        with django_assert_max_num_queries(9):
            as_kit.get(address("photo", photo))


class TestLight:
    """Refused light says why and what to do; a reference puts it right."""

    def read(self, as_kit, photo):
        response = as_kit.get(address("photo", photo))
        return response.context["board"], response.content.decode()

    def mark_paper(self, as_kit, photo, **more):
        as_kit.post(address("keep_marks", photo), fields(photo) | {"white": "paper"} | more)
        return photo.marks.of_white().get()

    def test_white_paper_takes_the_lamp_out(self, as_kit, kit, palette):
        """Against the same scene in daylight. A lamp is not three filters, so a little is left."""
        truth = stored(kit, scene())
        lamp = stored(kit, scene(light=LAMP * 0.9))
        for each in (truth, lamp):
            only(each, ON_BLUE)
            white = self.mark_paper(as_kit, each)
            assert white.box.left > 0.84, "The paper is where a white box is proposed."
        board, page = self.read(as_kit, lamp)
        daylight, _ = self.read(as_kit, truth)
        found, wanted = (b.yarns[0].reading.measurement.lab for b in (board, daylight))
        assert delta_e_2000(found, wanted) < 4.5
        as_kit.post(
            address("keep_marks", lamp), fields(lamp) | {"white": "", "is_light_trusted": "on"}
        )
        board, _ = self.read(as_kit, lamp)
        assert delta_e_2000(board.yarns[0].reading.measurement.lab, wanted) > 12
        assert "put right by what you marked" in page
        assert "Dark blue" in page

    def test_a_lamp_with_nothing_white_is_refused_until_trusted(self, as_kit, kit, palette):
        photo = stored(kit, scene(light=LAMP * 0.9, paper_light=[0.2, 0.2, 0.2]))
        board, page = self.read(as_kit, photo)
        assert "leans orange" in page
        assert "Lay white paper beside the yarn" in page
        assert "Trust the light anyway" in page
        assert not board.reading.marks
        as_kit.post(address("keep_marks", photo), fields(photo) | {"is_light_trusted": "on"})
        board, page = self.read(as_kit, photo)
        assert board.yarns[0].reading.measurement
        assert "on your word" in page

    def test_a_dark_photo_is_refused(self, as_kit, kit, palette):
        _, page = self.read(as_kit, stored(kit, scene(light=0.08)))
        assert "too dark to judge" in page

    @pytest.mark.parametrize(
        ("paper_light", "sentence"),
        [
            (np.linspace(0.55, 1, 80)[:, np.newaxis] * [1, 1, 1], "One side of the white paper"),
            ([1.3, 1.3, 1.3], "the white paper is burnt out"),
            ([0.05, 0.05, 0.05], "too dark to judge"),
        ],
        ids=["uneven", "burnt out", "dark"],
    )
    def test_a_reference_that_misleads_is_refused_whatever_is_trusted(
        self, as_kit, kit, palette, paper_light, sentence
    ):
        photo = stored(kit, scene(paper_light=paper_light, light=1.0))
        white = self.mark_paper(as_kit, photo)
        sent = fields(photo) | marked(white, left="86.5", top="10", width="10", height="80")
        as_kit.post(address("keep_marks", photo), sent | {"is_light_trusted": "on"})
        board, page = self.read(as_kit, photo)
        assert sentence in page
        assert "Trust the light anyway" not in page
        assert not board.reading.marks

    def test_a_grey_card_is_one_too_and_may_be_taken_back(self, as_kit, kit, palette):
        photo = stored(kit, scene(paper_light=[0.2, 0.2, 0.2]))
        as_kit.post(address("keep_marks", photo), fields(photo) | {"white": "grey-card"})
        white = photo.marks.of_white().get()
        sent = fields(photo) | marked(white, left="87", top="15", width="9", height="70")
        as_kit.post(address("keep_marks", photo), sent)
        only_card, page = self.read(as_kit, photo)
        assert "put right by what you marked" in page
        assert only_card.is_balanced
        as_kit.post(address("keep_marks", photo), fields(photo) | {"white": ""})
        assert not photo.marks.of_white().exists()

    def test_marking_paper_frees_it_from_being_a_yarn(self, as_kit, kit, palette):
        photo = stored(kit, scene())
        self.mark_paper(as_kit, photo)
        assert all(mark.box.right < 0.85 for mark in photo.marks.of_yarn())

    def test_a_burnt_out_yarn_says_so_and_spares_the_others(self, as_kit, kit, palette):
        bright = scene()
        bright[40:260, 320:560] = 1.0
        photo = stored(kit, bright)
        only(photo, ON_BLUE)
        Mark.objects.create(photo=photo, box=ON_RED)
        board, page = self.read(as_kit, photo)
        assert board.yarns[0].reading.measurement
        assert "yarn 2 is burnt out" in page
        assert "move the box off the shine" in page

    def test_the_views_show_daylight_and_grey(self, as_kit, kit, palette):
        photo = stored(kit, scene(light=LAMP * 0.9))
        self.mark_paper(as_kit, photo)
        daylight = as_kit.get(address("photo_daylight", photo)).content
        grey = as_kit.get(address("photo_grey", photo)).content
        assert np.ptp(middle(grey, 0.92, 0.5)) <= 4
        assert np.ptp(middle(grey, 0.2, 0.5)) <= 4
        assert np.ptp(middle(daylight, 0.92, 0.5)) <= 6
        assert middle(daylight, 0.2, 0.5)[2] > 1.6 * middle(daylight, 0.2, 0.5)[0]


def middle(webp, x, y):
    import io

    from PIL import Image

    with Image.open(io.BytesIO(webp)) as image:
        pixels = np.asarray(image.convert("RGB")).astype(float)
    row, column = int(y * pixels.shape[0]), int(x * pixels.shape[1])
    return pixels[row - 3 : row + 4, column - 3 : column + 4].mean(axis=(0, 1))


class TestApplying:
    """What was measured goes onto the yarns, once."""

    @pytest.fixture
    def ink(self, photo):
        only(photo, ON_RED)
        return Yarn.objects.get(name="Ink")

    def test_colour_spread_style_photo_and_place_go_onto_the_yarn(self, as_kit, photo, ink):
        mark = photo.marks.get()
        sent = fields(photo) | marked(mark, target=str(ink.pk))
        response = as_kit.post(address("apply_marks", photo), sent, follow=True)
        assert "Ink has its colour: medium red" in response.content.decode()
        ink.refresh_from_db()
        assert delta_e_2000(ink.lab, Lab(41, 42, 25)) < 5
        assert (ink.measured_by, ink.photo) == (MeasuredBy.PHOTO, photo)
        assert (ink.dye_style, ink.region) == ("tonal", ON_RED)
        assert ink.spread > 4
        assert ink.is_pictured

    def test_the_owner_knows_the_dye_better(self, as_kit, photo, ink):
        mark = photo.marks.get()
        sent = fields(photo) | marked(mark, target=str(ink.pk), dye_style="variegated")
        as_kit.post(address("apply_marks", photo), sent)
        ink.refresh_from_db()
        assert ink.dye_style == "variegated"

    def test_a_new_yarn_is_entered_by_name(self, as_kit, kit, photo, ink):
        sent = fields(photo) | marked(photo.marks.get(), target="new", name="Brick")
        as_kit.post(address("apply_marks", photo), sent)
        brick = kit.palette.yarns.get(name="Brick")
        assert (brick.is_pictured, brick.is_chosen) == (True, True)
        assert photo.marks.get().yarn == brick

    def test_or_after_its_colour(self, as_kit, kit, photo, ink):
        sent = fields(photo) | marked(photo.marks.get(), target="new", name="")
        as_kit.post(address("apply_marks", photo), sent)
        assert kit.palette.yarns.exclude(pk=ink.pk).get().name.startswith("Medium red")

    def test_several_of_one_colour_are_numbered(self, as_kit, kit, photo, ink):
        Mark.objects.create(photo=photo, box=ON_RED)
        Mark.objects.create(photo=photo, box=ON_RED)
        photo.marks.update(is_new=True)
        as_kit.post(address("apply_marks", photo), fields(photo))
        first, *more = kit.palette.yarns.exclude(pk=ink.pk).values_list("name", flat=True)
        assert more == [f"{first} 2", f"{first} 3"]

    def test_sent_twice_it_is_entered_once(self, as_kit, kit, photo, ink):
        """As when the answer is lost and the same page is sent again."""
        sent = fields(photo) | marked(photo.marks.get(), target="new", name="Brick")
        for _ in range(3):
            as_kit.post(address("apply_marks", photo), sent)
        assert kit.palette.yarns.filter(name="Brick").count() == 1

    def test_boxes_left_out_are_named_beside_the_button(self, as_kit, photo, ink):
        mark = photo.marks.get()
        photo.marks.create(box=ON_BLUE)
        photo.marks.create(box=ON_BLUE)
        sent = fields(photo) | marked(mark, target=str(ink.pk))
        page = as_kit.post(
            address("apply_marks", photo), sent, headers={"HX-Request": "true"}
        ).content.decode()
        said = page.partition('id="marks-applied" role="status">')[2].partition("</p>")[0]
        assert said.startswith("Ink has its colour: ")
        assert said.endswith("Boxes 2 and 3 are left out.")

    def test_boxes_left_out_touch_nothing(self, as_kit, photo, ink):
        before = ink.facts()
        response = as_kit.post(address("apply_marks", photo), fields(photo))
        assert response.status_code == 422
        assert "Say of one box at least" in response.content.decode()
        ink.refresh_from_db()
        assert ink.facts() == before

    def test_two_boxes_for_one_yarn_are_refused(self, as_kit, photo, ink):
        Mark.objects.create(photo=photo, box=ON_BLUE)
        sent = fields(photo)
        for mark in photo.marks.all():
            sent |= marked(mark, target=str(ink.pk))
        response = as_kit.post(address("apply_marks", photo), sent)
        assert "Two boxes are for Ink" in response.content.decode()
        ink.refresh_from_db()
        assert not ink.is_pictured

    def test_all_or_nothing_when_the_palette_is_full(self, as_kit, photo, ink):
        for n in range(38):
            make_yarn(ink.palette, name=f"Extra {n}")
        Mark.objects.create(photo=photo, box=ON_BLUE)
        sent = fields(photo)
        for mark in photo.marks.all():
            sent |= marked(mark, target="new", name=f"New {mark.pk}")
        response = as_kit.post(address("apply_marks", photo), sent)
        assert "holds 40 yarns at most" in response.content.decode()
        assert Yarn.objects.count() == 39
        assert {mark.new_name[:3] for mark in photo.marks.all()} == {"New"}

    def test_nothing_goes_on_in_refused_light(self, as_kit, kit, palette):
        photo = stored(kit, scene(light=0.08))
        mark = only(photo, ON_RED)
        sent = fields(photo) | marked(mark, target="new", name="Brick")
        response = as_kit.post(address("apply_marks", photo), sent)
        assert response.status_code == 422
        assert not Yarn.objects.exists()
        assert photo.marks.get().new_name == "Brick"

    @pytest.mark.parametrize("whose", ["somebody else's", "nobody's", "no number"])
    def test_only_onto_a_yarn_of_ones_own(self, as_kit, knit_along, photo, ink, whose):
        hers = make_yarn(make_palette(make_participant(knit_along, "Ann")))
        before = hers.facts()
        pk = {"somebody else's": hers.pk, "nobody's": 999_999, "no number": "x"}[whose]
        sent = fields(photo) | marked(photo.marks.get(), target=str(pk))
        assert as_kit.post(address("apply_marks", photo), sent).status_code == 422
        hers.refresh_from_db()
        assert hers.facts() == before

    def test_moving_the_box_later_leaves_the_yarn_as_measured(self, as_kit, photo, ink):
        mark = photo.marks.get()
        as_kit.post(address("apply_marks", photo), fields(photo) | marked(mark, target=str(ink.pk)))
        ink.refresh_from_db()
        before, region = ink.facts(), ink.region
        as_kit.post(address("keep_marks", photo), fields(photo) | marked(mark, left="8"))
        ink.refresh_from_db()
        assert (ink.facts(), ink.region) == (before, region)

    def test_a_death_half_way_changes_nothing(self, photo, ink, monkeypatch):
        """Two new yarns; the process dies before the second is written."""
        Mark.objects.create(photo=photo, box=ON_BLUE)
        photo.marks.update(is_new=True)
        found = MarkReading(reading_of(hex_to_lab("#aa3322")))
        reading = PhotoReading("", False, {mark.pk: found for mark in photo.marks.all()})
        real, calls = actions.add_yarn, []

        def dying(*args, **kwargs):
            calls.append(1)
            if len(calls) == 2:
                raise KeyboardInterrupt
            return real(*args, **kwargs)

        monkeypatch.setattr(marking, "add_yarn", dying)
        with pytest.raises(KeyboardInterrupt):
            marking.apply_marks(photo, reading, now=timezone.now())
        assert len(calls) == 2
        assert Yarn.objects.count() == 1
        assert {mark.yarn for mark in photo.marks.all()} == {None}


def reading_of(lab):
    from palettes.colour.measure import Measurement

    return Measurement(lab, 1.0, "solid")


class TestWithScript:
    """What htmx gets: readings alone after a drag, the whole board when boxes come or go."""

    HTMX = {"HX-Request": "true"}

    def test_a_moved_box_is_answered_with_readings(self, as_kit, photo):
        mark = photo.marks.first()
        sent = fields(photo) | marked(mark, width="12")
        response = as_kit.post(address("keep_marks", photo), sent, headers=self.HTMX)
        part = response.content.decode()
        assert response.status_code == 200
        assert f'id="mark-{mark.pk}-reading" hx-swap-oob="true"' in part
        assert "<form" not in part
        assert "HX-Retarget" not in response

    def test_marking_paper_draws_the_board_anew(self, as_kit, photo):
        sent = fields(photo) | {"white": "paper"}
        response = as_kit.post(address("keep_marks", photo), sent, headers=self.HTMX)
        assert (response["HX-Retarget"], response["HX-Reswap"]) == ("#marks", "outerHTML")
        assert "<html" not in response.content.decode()
        assert "is-white" in response.content.decode()

    def test_a_refused_number_is_told_beside_it(self, as_kit, photo):
        mark = photo.marks.first()
        sent = fields(photo) | marked(mark, width="x")
        response = as_kit.post(address("keep_marks", photo), sent, headers=self.HTMX)
        assert response.status_code == 422
        assert "Enter a number" in response.content.decode()
