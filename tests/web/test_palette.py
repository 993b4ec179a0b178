"""The palette's page and its yarns: who may, what is kept, what is refused and in which words."""

import re
import threading
from decimal import Decimal

import pytest
from django.db import connections
from django.urls import reverse
from django.utils import timezone

from palettes.actions import MAX_YARNS, add_yarn, move_yarn, place_yarn
from palettes.colour.spaces import hex_to_lab
from palettes.errors import PaletteFull
from palettes.models import Palette, Yarn
from palettes.models.yarn_facts import MeasuredBy
from schedule.models import YarnReserve
from tests.builders import make_knit_along, make_palette, make_participant, make_yarn
from tests.conftest import signed_in
from tests.pages import words

HTMX = {"HX-Request": "true"}
FULL_YARN = {
    "name": "Harbour sock",
    "colour": "#1c2a4a",
    "dye_style": "solid",
    "fibre": "75% merino, 25% nylon",
    "construction": "many-ply",
    "care": "machine",
    "put_up_grams": "100",
    "put_up_metres": "420",
    "balls": "2",
}


@pytest.fixture
def palette(kit) -> Palette:
    return make_palette(kit)


@pytest.fixture
def yarn(palette) -> Yarn:
    return make_yarn(palette, name="Ink pad")


@pytest.fixture
def ann(knit_along):
    """Another participant of the same knit-along."""
    return make_participant(knit_along, "Ann")


def address(name, knit_along, *more):
    return reverse(f"palettes:{name}", args=[knit_along.slug, *more])


def choose(palette, count):
    return [
        make_yarn(
            palette, name=f"Chosen {n}", place=Yarn.Place.CHOSEN, position=n, lab_l=20 + 15 * n
        )
        for n in range(count)
    ]


class TestWhoMay:
    """Everybody reads and changes their own palette and nobody else's."""

    GET_PAGES = ("palette", "history", "photos")

    @pytest.mark.parametrize("page", GET_PAGES)
    def test_a_participant_sees_their_own(self, as_kit, knit_along, page):
        assert as_kit.get(address(page, knit_along)).status_code == 200

    @pytest.mark.parametrize("page", GET_PAGES)
    def test_a_stranger_gets_404(self, as_sam, knit_along, page):
        assert as_sam.get(address(page, knit_along)).status_code == 404

    @pytest.mark.parametrize("page", GET_PAGES)
    def test_a_visitor_is_asked_to_sign_in(self, client, knit_along, page):
        response = client.get(address(page, knit_along))
        assert response.status_code == 302
        assert response.url.startswith(reverse("account_login"))

    def test_somebody_who_left_gets_404(self, as_kit, kit, knit_along):
        kit.left_at = timezone.now()
        kit.save()
        assert as_kit.get(address("palette", knit_along)).status_code == 404

    @pytest.mark.parametrize(
        ("action", "data"),
        [
            ("yarn", FULL_YARN),
            ("place_yarn", {"place": "chosen"}),
            ("move_yarn", {"direction": "up"}),
            ("remove_yarn", {}),
        ],
    )
    def test_somebody_elses_yarn_is_404_and_stays_as_it_is(
        self, ann, knit_along, yarn, action, data
    ):
        client = signed_in(ann.user)
        before = yarn.facts()
        for pk in (yarn.pk, 999_999):
            assert client.post(address(action, knit_along, pk), data).status_code == 404
        yarn.refresh_from_db()
        assert (yarn.facts(), yarn.place) == (before, Yarn.Place.CANDIDATE)

    def test_the_same_persons_yarn_of_another_knit_along_is_404(self, as_kit, kit, yarn):
        other = make_participant(make_knit_along(), user=kit.user).knit_along
        assert as_kit.post(address("yarn", other, yarn.pk), FULL_YARN).status_code == 404

    @pytest.mark.parametrize("action", ["place_yarn", "move_yarn", "remove_yarn"])
    def test_changes_are_not_made_by_get(self, as_kit, knit_along, yarn, action):
        assert as_kit.get(address(action, knit_along, yarn.pk)).status_code == 405
        assert Yarn.objects.filter(pk=yarn.pk).exists()

    def test_registering_is_not_done_by_get(self, as_kit, knit_along):
        assert as_kit.get(address("register", knit_along)).status_code == 405
        assert as_kit.get(address("add_yarn", knit_along)).status_code == 405
        assert as_kit.post(address("palette", knit_along)).status_code == 405


class TestEntering:
    """A yarn is stored as soon as it has a name and a colour."""

    def test_goes_among_the_chosen_while_a_colour_is_free(self, as_kit, kit, knit_along):
        for n in range(6):
            data = {"name": f"Yarn {n}", "colour": "#336699", "dye_style": "tonal"}
            response = as_kit.post(address("add_yarn", knit_along), data)
            assert response.status_code == 302
        places = list(kit.palette.yarns.order_by("pk").values_list("place", flat=True))
        assert places == ["chosen"] * 5 + ["candidate"]

    @pytest.mark.parametrize("typed", ["#7A4B2C", "7a4b2c", " #7a4b2c "])
    def test_reads_a_hex_code_however_it_is_written(self, as_kit, kit, knit_along, typed):
        data = {"name": "Toast", "colour": typed, "dye_style": "solid"}
        as_kit.post(address("add_yarn", knit_along), data)
        yarn = kit.palette.yarns.get()
        assert yarn.hex == "#7a4b2c"
        assert yarn.measured_by == MeasuredBy.PICKER

    def test_a_wrong_hex_code_is_refused_and_nothing_typed_is_lost(self, as_kit, knit_along):
        data = {"name": "Toast", "colour": "brownish", "dye_style": "tonal"}
        response = as_kit.post(address("add_yarn", knit_along), data)
        assert response.status_code == 422
        page = response.content.decode()
        assert "“brownish” is not a colour code; write one like #7a4b2c, or pick" in page
        assert 'value="Toast"' in page
        assert 'value="brownish"' in page
        assert not Yarn.objects.exists()

    def test_a_yarn_past_the_fortieth_is_refused(self, as_kit, kit, palette, knit_along):
        Yarn.objects.bulk_create(
            Yarn(palette=palette, name=f"Y{n}", lab_l=50, lab_a=0, lab_b=0)
            for n in range(MAX_YARNS)
        )
        data = {"name": "One more", "colour": "#123456", "dye_style": "solid"}
        response = as_kit.post(address("add_yarn", knit_along), data)
        assert response.status_code == 422
        assert "holds 40 yarns at most" in response.content.decode()
        assert palette.yarns.count() == MAX_YARNS

    def test_a_name_is_escaped_where_it_is_shown(self, as_kit, palette, knit_along):
        make_yarn(palette, name="<b>x</b>", place=Yarn.Place.CHOSEN)
        make_yarn(palette, name='"><script>1</script>', place=Yarn.Place.CHOSEN)
        page = as_kit.get(address("palette", knit_along)).content.decode()
        assert "<script>1" not in page
        assert "<b>x" not in page


class TestEditing:
    """Each value is saved on its own, so that one refused keeps no other back."""

    def test_everything_about_a_yarn_is_kept(self, as_kit, knit_along, yarn):
        response = as_kit.post(address("yarn", knit_along, yarn.pk), FULL_YARN)
        assert response.status_code == 302
        yarn.refresh_from_db()
        assert yarn.name == "Harbour sock"
        assert yarn.hex == "#1c2a4a"
        assert yarn.put_up_metres == 420
        assert yarn.swatch().fibre == (("merino", 75.0), ("nylon", 25.0))

    def test_a_refused_value_stays_in_its_box_and_the_rest_is_saved(self, as_kit, knit_along, yarn):
        data = FULL_YARN | {"fibre": "80% wool, 40% nylon", "put_up_grams": "-5"}
        response = as_kit.post(address("yarn", knit_along, yarn.pk), data)
        assert response.status_code == 422
        page = response.content.decode()
        assert 'value="80% wool, 40% nylon"' in page
        assert "The shares add up to 120%; together they can be 100% at most." in page
        assert 'value="-5"' in page
        yarn.refresh_from_db()
        assert (yarn.name, yarn.put_up_grams, yarn.fibre) == ("Harbour sock", 50, "")

    @pytest.mark.parametrize("field", ["put_up_grams", "put_up_metres"])
    @pytest.mark.parametrize("typed", ["0", "-1", "-0.5", "0.0"])
    def test_zero_and_less_are_refused_in_one_sentence(
        self, as_kit, knit_along, yarn, field, typed
    ):
        response = as_kit.post(address("yarn", knit_along, yarn.pk), FULL_YARN | {field: typed})
        assert response.status_code == 422
        assert f"; {typed} is not." in response.content.decode()

    @pytest.mark.parametrize(
        ("typed", "sentence"),
        [
            ("lots", "is not an amount; write a number like 100."),
            ("NaN", "is not an amount"),
            ("1e5", "is not an amount"),
            ("1,000", "can be read two ways; leave the comma out."),
            ("99999", "the most that fits here is 2000."),
            ("4" * 400, "is not an amount"),
        ],
    )
    def test_what_is_no_amount_of_grams_says_what_would_do(
        self, as_kit, knit_along, yarn, typed, sentence
    ):
        data = FULL_YARN | {"put_up_grams": typed}
        response = as_kit.post(address("yarn", knit_along, yarn.pk), data)
        assert response.status_code == 422
        assert sentence in response.content.decode()

    @pytest.mark.parametrize(("language", "status"), [("de", 422), ("en", 302)])
    def test_a_point_that_parts_thousands_in_german_is_asked_about(
        self, as_kit, knit_along, yarn, language, status
    ):
        url = address("yarn", knit_along, yarn.pk)
        data = FULL_YARN | {"put_up_metres": "1.200"}
        response = as_kit.post(url, data, headers={"Accept-Language": language})
        assert response.status_code == status
        if status == 422:
            assert "lässt sich auf zwei Arten lesen" in response.content.decode()
        assert (
            as_kit.post(
                url, FULL_YARN | {"put_up_metres": "28.5"}, headers={"Accept-Language": language}
            ).status_code
            == 302
        )

    def test_a_decimal_comma_is_read(self, as_kit, knit_along, yarn):
        as_kit.post(address("yarn", knit_along, yarn.pk), FULL_YARN | {"balls": "1,5"})
        yarn.refresh_from_db()
        assert yarn.balls == Decimal("1.5")

    def test_ounces_and_yards_of_a_band_are_kept_as_the_grams_and_metres_they_stand_for(
        self, as_kit, kit, knit_along, yarn
    ):
        """3.5 oz is how the band of a 100 g skein says it: common practice."""
        kit.user.units = "imperial"
        kit.user.save()
        data = FULL_YARN | {"put_up_grams": "3.5", "put_up_metres": "437"}
        as_kit.post(address("yarn", knit_along, yarn.pk), data)
        yarn.refresh_from_db()
        assert (yarn.put_up_grams, yarn.put_up_metres) == (100, 400)
        page = as_kit.get(address("yarn", knit_along, yarn.pk)).content.decode()
        assert "Ounces in one ball" in page
        assert 'value="3.53"' in page
        assert 'value="437.45"' in page
        again = FULL_YARN | {"put_up_grams": "3.53", "put_up_metres": "437.45"}
        as_kit.post(address("yarn", knit_along, yarn.pk), again)
        yarn.refresh_from_db()
        assert (yarn.put_up_grams, yarn.put_up_metres) == (100, 400)

    def test_ounces_that_stand_for_no_round_grams_are_kept_by_their_exact_factor(
        self, as_kit, kit, knit_along, yarn
    ):
        """1 oz is 28.349523125 g: the 1959 agreement, NIST Handbook 44."""
        kit.user.units = "imperial"
        kit.user.save()
        as_kit.post(address("yarn", knit_along, yarn.pk), FULL_YARN | {"put_up_grams": "4"})
        yarn.refresh_from_db()
        assert yarn.put_up_grams == Decimal("113.398")

    def test_a_measured_colour_outlives_a_save_that_leaves_its_code_alone(
        self, as_kit, knit_along, yarn
    ):
        lab = hex_to_lab("#336699")._replace(l=41.23)
        Yarn.objects.filter(pk=yarn.pk).update(
            lab_l=lab.l, lab_a=lab.a, lab_b=lab.b, spread=6.5, measured_by=MeasuredBy.PHOTO
        )
        yarn.refresh_from_db()
        as_kit.post(address("yarn", knit_along, yarn.pk), FULL_YARN | {"colour": yarn.hex})
        yarn.refresh_from_db()
        assert (yarn.lab_l, yarn.spread, yarn.measured_by) == (41.23, 6.5, MeasuredBy.PHOTO)
        as_kit.post(address("yarn", knit_along, yarn.pk), FULL_YARN | {"colour": "#aa0000"})
        yarn.refresh_from_db()
        assert (yarn.hex, yarn.spread, yarn.measured_by) == ("#aa0000", 0.0, MeasuredBy.PICKER)

    def test_a_dye_style_gives_an_unmeasured_yarn_its_usual_texture(self, as_kit, knit_along, yarn):
        data = FULL_YARN | {"dye_style": "speckled"}
        as_kit.post(address("yarn", knit_along, yarn.pk), data)
        yarn.refresh_from_db()
        speckled = yarn.swatch().texture
        as_kit.post(address("yarn", knit_along, yarn.pk), FULL_YARN)
        yarn.refresh_from_db()
        assert yarn.swatch().texture < speckled

    def test_a_save_by_script_sends_the_audit_and_no_box(self, as_kit, knit_along, palette):
        first, _ = choose(palette, 2)
        response = as_kit.post(
            address("yarn", knit_along, first.pk), FULL_YARN | {"colour": "#zz"}, headers=HTMX
        )
        part = response.content.decode()
        assert response.status_code == 422
        assert 'id="audit"' in part
        assert "<html" not in part
        assert '<input type="text"' not in part
        assert "is not a colour" in part


class TestChoosing:
    """Exactly as many yarns are chosen as the knit-along has colours."""

    def test_a_sixth_is_refused_in_one_sentence_and_stays_a_candidate(
        self, as_kit, knit_along, palette, yarn
    ):
        choose(palette, 5)
        response = as_kit.post(address("place_yarn", knit_along, yarn.pk), {"place": "chosen"})
        assert response.status_code == 422
        assert "You have already chosen 5 yarns, one for each colour" in response.content.decode()
        yarn.refresh_from_db()
        assert yarn.place == Yarn.Place.CANDIDATE

    def test_places_change_and_new_ones_go_last(self, as_kit, knit_along, palette, yarn):
        first, second = choose(palette, 2)
        for place in ("spare", "chosen"):
            response = as_kit.post(address("place_yarn", knit_along, yarn.pk), {"place": place})
            assert response.status_code == 302
        assert list(palette.yarns.chosen()) == [first, second, yarn]

    @pytest.mark.parametrize("place", ["", "stash", "CHOSEN"])
    def test_there_is_no_other_place(self, as_kit, knit_along, yarn, place):
        response = as_kit.post(address("place_yarn", knit_along, yarn.pk), {"place": place})
        assert response.status_code == 422

    def test_order_changes_by_one_step_and_stops_at_the_ends(self, as_kit, knit_along, palette):
        a, b, c = choose(palette, 3)
        for direction, expected in [
            ("up", [a, c, b]),
            ("up", [c, a, b]),
            ("up", [c, a, b]),
            ("down", [a, c, b]),
        ]:
            url = address("move_yarn", knit_along, c.pk)
            assert as_kit.post(url, {"direction": direction}).status_code == 302
            assert list(palette.yarns.chosen()) == expected

    def test_a_change_by_script_sends_the_parts_that_changed(self, as_kit, knit_along, palette):
        a, _ = choose(palette, 2)
        response = as_kit.post(
            address("move_yarn", knit_along, a.pk), {"direction": "down"}, headers=HTMX
        )
        part = response.content.decode()
        assert response.status_code == 200
        assert 'id="yarns" hx-swap-oob="true"' in part
        assert 'id="audit"' in part
        assert "<html" not in part

    @pytest.mark.django_db(transaction=True)
    def test_two_requests_at_once_cannot_both_choose_the_last(self, knit_along, palette):
        choose(palette, 4)
        rivals = [make_yarn(palette, name=f"Rival {n}") for n in range(6)]
        barrier, refused = threading.Barrier(len(rivals)), []

        def run(yarn):
            barrier.wait()
            try:
                place_yarn(Yarn.objects.get(pk=yarn.pk), Yarn.Place.CHOSEN, now=timezone.now())
            except PaletteFull:
                refused.append(yarn)
            finally:
                connections.close_all()

        threads = [threading.Thread(target=run, args=[yarn]) for yarn in rivals]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert palette.yarns.chosen().count() == 5
        assert len(refused) == len(rivals) - 1


class TestAudit:
    """The audit follows every change, and says what to do before there is one."""

    def test_fewer_than_two_chosen_explains_what_comes(self, as_kit, knit_along, palette):
        choose(palette, 1)
        page = as_kit.get(address("palette", knit_along)).content.decode()
        assert "Choose two yarns and they are compared here" in page
        assert "Every pair" not in page

    def test_says_lightness_pairs_quantities_and_findings(self, as_kit, knit_along, palette):
        choose(palette, 5)
        page = as_kit.get(address("palette", knit_along)).content.decode()
        assert page.count('class="stripe"') == 10
        assert "Lightness, written" in page
        assert "CIEDE2000" in page
        assert page.count("Chosen 4") > 4
        assert 'class="finding is-' in page
        assert "Enough yarn?" in page

    def test_the_table_of_pairs_rises_by_the_number_it_shows(self, as_kit, knit_along, palette):
        for n, code in enumerate(("#7a4b2c", "#2c4f7a", "#c9a46a", "#44684a", "#8a3a55")):
            lab_l, lab_a, lab_b = hex_to_lab(code)
            colour = {"lab_l": lab_l, "lab_a": lab_a, "lab_b": lab_b}
            make_yarn(palette, name=code, place=Yarn.Place.CHOSEN, position=n, **colour)
        page = as_kit.get(address("palette", knit_along)).content.decode()
        table = page.split('<table class="pairs">')[1].split("</table>")[0]
        assert re.findall(r'<th scope="col"[^>]*>([^<]+)</th>', table) == [
            *("Pair", "Contrast", "Difference", "ΔL*", "Grade")
        ]
        shown = [int(number) for number in re.findall(r'<td class="number">(\d+)</td>', table)]
        plain = [int(n) for n in re.findall(r'wide-only">(\d+)</td>', table)][::2]
        assert shown == sorted(shown)
        assert plain != sorted(plain)
        grades = re.findall(r'class="grade is-(\w+)"', table)
        worst_first = ["lost", "close", "workable", "strong"]
        assert grades == sorted(grades, key=worst_first.index)
        assert len(set(grades)) > 1

    def test_the_legend_says_what_contrast_each_grade_takes(self, as_kit, knit_along, palette):
        choose(palette, 2)
        page = as_kit.get(address("palette", knit_along)).content.decode()
        assert "at a glance (contrast from 18)" in page
        assert "(less, but from 4 at arm&#x27;s length)" in page

    def test_an_amount_not_filled_in_leads_to_its_field(self, as_kit, kit, knit_along, palette):
        yarn, _other = choose(palette, 2)
        Yarn.objects.filter(pk=yarn.pk).update(put_up_grams=None, put_up_metres=None)
        form = address("yarn", knit_along, yarn.pk)
        target = f"yarn-{yarn.pk}-put_up_grams"
        page = as_kit.get(address("palette", knit_along)).content.decode()
        assert page.count("fill in “Grams in one ball”") == 1
        assert f'href="{form}#{target}"' in page
        assert f'id="{target}"' in as_kit.get(form).content.decode()
        kit.user.units = "imperial"
        kit.user.save()
        page = as_kit.get(address("palette", knit_along)).content.decode()
        assert "fill in “Ounces in one ball”" in page

    def test_what_cannot_be_changed_has_no_link_to_its_field(self, as_kit, knit_along, palette):
        choose(palette, 2)
        palette.yarns.update(put_up_grams=None, put_up_metres=None)
        knit_along.palettes_closed_at = timezone.now()
        knit_along.save()
        page = as_kit.get(address("palette", knit_along)).content.decode()
        assert "put_up_grams" not in page
        assert "<td>not known</td>" in page

    def test_amounts_are_in_the_readers_own_units(self, as_kit, kit, knit_along, palette):
        choose(palette, 2)
        kit.user.units = "imperial"
        kit.user.save()
        page = as_kit.get(address("palette", knit_along)).content.decode()
        assert "3.5\N{NO-BREAK SPACE}oz, 438\N{NO-BREAK SPACE}yd" in page

    def test_nothing_is_drawn_with_inline_style(self, as_kit, knit_along, palette):
        choose(palette, 5)
        page = as_kit.get(address("palette", knit_along)).content.decode()
        assert " style=" not in page
        assert "<style" not in page
        assert " onclick" not in page

    def test_a_card_is_drawn_alike_each_time(self, as_kit, knit_along, palette):
        for yarn in choose(palette, 3):
            yarn.dye_style = "speckled"
            yarn.save()
        first, second = (
            as_kit.get(address("palette", knit_along)).context["workspace"].audit.card
            for _ in range(2)
        )
        assert first == second
        assert len(first.bands[0].paths) > 3

    def test_queries_do_not_grow_with_the_yarns(
        self, as_kit, knit_along, palette, django_assert_num_queries
    ):
        choose(palette, 2)
        # Session, person, participant, palette, yarns, registration, needs and their reserve.
        with django_assert_num_queries(8):
            as_kit.get(address("palette", knit_along))
        Yarn.objects.bulk_create(
            Yarn(palette=palette, name=f"Y{n}", lab_l=50, lab_a=0, lab_b=n) for n in range(30)
        )
        with django_assert_num_queries(8):
            as_kit.get(address("palette", knit_along))

    def test_exactly_what_is_asked_for_is_enough_since_a_reserve_is_in_it(
        self, as_kit, knit_along, palette
    ):
        """100 g of each colour, so two balls where a ball is 50 g (common practice)."""
        knit_along.needs.update(grams=100, metres=400)
        choose(palette, 5)
        palette.yarns.update(put_up_grams=50, put_up_metres=200, balls=2)
        shown = words(as_kit.get(address("palette", knit_along)))
        assert "There is enough of every colour." in shown
        assert "only just enough" not in shown
        YarnReserve.objects.create(knit_along=knit_along, percent=0)
        assert "only just enough" in words(as_kit.get(address("palette", knit_along)))


class TestClosed:
    """Closed palettes can be read and not changed."""

    @pytest.fixture(autouse=True)
    def closed(self, knit_along, palette):
        choose(palette, 5)
        knit_along.palettes_closed_at = timezone.now()
        knit_along.save()

    def test_the_page_says_so_and_offers_no_change(self, as_kit, knit_along):
        page = as_kit.get(address("palette", knit_along)).content.decode()
        assert "The organiser has closed the palettes" in page
        assert "add-yarn" not in page
        assert 'name="place"' not in page

    @pytest.mark.parametrize(
        ("action", "data"),
        [
            ("place_yarn", {"place": "spare"}),
            ("move_yarn", {"direction": "down"}),
            ("remove_yarn", {}),
            ("yarn", FULL_YARN),
        ],
    )
    def test_every_change_is_refused(self, as_kit, knit_along, palette, action, data):
        before = [(yarn.pk, yarn.facts()) for yarn in palette.yarns.all()]
        response = as_kit.post(address(action, knit_along, before[0][0]), data)
        assert response.status_code == 422
        assert "The organiser has closed the palettes" in response.content.decode()
        assert [(yarn.pk, yarn.facts()) for yarn in palette.yarns.all()] == before

    def test_entering_and_registering_are_refused(self, as_kit, knit_along, palette):
        data = {"name": "Late", "colour": "#123456", "dye_style": "solid"}
        assert as_kit.post(address("add_yarn", knit_along), data).status_code == 422
        assert as_kit.post(address("register", knit_along)).status_code == 422
        assert palette.yarns.count() == 5
        assert palette.registration is None


def test_actions_order_yarns_as_the_page_does(kit):
    """The demo and the page enter yarns by the same verbs."""
    rows = [Yarn(name=f"Y{n}", lab_l=50, lab_a=0, lab_b=0) for n in range(3)]
    now = timezone.now()
    first, *_, last = [add_yarn(row, kit, now=now) for row in rows]
    move_yarn(last, "up", now=now)
    assert [yarn.name for yarn in kit.palette.yarns.chosen()] == ["Y0", "Y2", "Y1"]
    assert first.position == 0
