"""The gallery: who is shown, to whom, found how, and in pages that stay put."""

from datetime import timedelta

import pytest
from django.db import connection
from django.urls import reverse
from django.utils import timezone

from palettes.actions import register_palette
from palettes.colour.families import Family
from palettes.gallery import PAGE_SIZE, read_page
from palettes.models import GalleryEntry, Registration, Yarn
from palettes.models.registration import run_of
from tests.builders import make_knit_along, make_palette, make_participant, make_user, make_yarn
from tests.conftest import signed_in

GREYS = tuple((20 + 15 * n, 0.0, 0.0) for n in range(5))
RED, BLUE = (45.0, 60.0, 35.0), (40.0, -5.0, -40.0)


def register(knit_along, name="Ann", labs=GREYS, *, shows=True, spare=None):
    """Return a new participant's registration of yarns in these colours."""
    participant = make_participant(knit_along, name, shows_palette=shows)
    palette = make_palette(participant)
    for n, (light, a, b) in enumerate(labs):
        make_yarn(palette, place=Yarn.Place.CHOSEN, position=n, lab_l=light, lab_a=a, lab_b=b)
    if spare:
        light, a, b = spare
        make_yarn(palette, place=Yarn.Place.SPARE, lab_l=light, lab_a=a, lab_b=b)
    return register_palette(palette, now=timezone.now())[0]


def with_colour(lab):
    return (*GREYS[:4], lab)


def address(name, knit_along, *more):
    return reverse(f"palettes:{name}", args=[knit_along.slug, *more])


def shown(response):
    return [entry.registration_id for entry in response.context["page"].entries]


class TestWhoMay:
    """Members see the palettes of members who agree; nobody else sees any."""

    def test_members_see_it(self, as_kit, as_hana, knit_along):
        registration = register(knit_along)
        for client in (as_kit, as_hana):
            response = client.get(address("gallery", knit_along))
            assert shown(response) == [registration.pk]
            page = address("gallery_palette", knit_along, registration.palette_id)
            assert client.get(page).status_code == 200

    def test_strangers_get_404_and_visitors_are_asked_to_sign_in(self, as_sam, client, knit_along):
        registration = register(knit_along)
        for page in (
            address("gallery", knit_along),
            address("gallery_palette", knit_along, registration.palette_id),
        ):
            assert as_sam.get(page).status_code == 404
            assert client.get(page).status_code == 302

    def test_members_of_another_knit_along_get_404(self, knit_along):
        registration = register(knit_along)
        elsewhere = make_knit_along()
        client = signed_in(make_participant(elsewhere, "Bo").user)
        assert client.get(address("gallery", knit_along)).status_code == 404
        page = address("gallery_palette", elsewhere, registration.palette_id)
        assert client.get(page).status_code == 404

    @pytest.mark.parametrize("how", ["no consent", "consent withdrawn", "left", "draft"])
    def test_only_consenting_members_palettes_are_shown(self, as_kit, knit_along, how):
        registration = register(knit_along, shows=how != "no consent")
        participant = registration.palette.participant
        if how == "consent withdrawn":
            participant.shows_palette = False
        if how == "left":
            participant.left_at = timezone.now()
        participant.save()
        if how == "draft":
            Registration.objects.all().delete()
        assert shown(as_kit.get(address("gallery", knit_along))) == []
        page = address("gallery_palette", knit_along, registration.palette_id)
        assert as_kit.get(page).status_code == 404

    def test_wrong_methods_are_405(self, as_kit, knit_along):
        registration = register(knit_along)
        assert as_kit.post(address("gallery", knit_along)).status_code == 405
        page = address("gallery_palette", knit_along, registration.palette_id)
        assert as_kit.post(page).status_code == 405
        assert as_kit.get(address("gallery_palette", knit_along, 999_999)).status_code == 404

    def test_no_part_of_a_mail_address_is_shown(self, as_kit, knit_along):
        user = make_user("", email="secretname@private.example")
        participant = make_participant(knit_along, user=user, shows_palette=True)
        palette = make_palette(participant)
        for n in range(5):
            make_yarn(palette, place=Yarn.Place.CHOSEN, position=n, lab_l=20 + 15 * n)
        register_palette(palette, now=timezone.now())
        for page in (
            address("gallery", knit_along),
            address("gallery_palette", knit_along, palette.pk),
        ):
            text = as_kit.get(page).content.decode()
            assert "secretname" not in text
            assert "private.example" not in text
            assert "a knitter" in text


class TestFinding:
    """By a family of colour and by how light or dark a palette runs, newest first."""

    def test_newest_first(self, as_kit, knit_along):
        made = [register(knit_along).pk for _ in range(3)]
        assert shown(as_kit.get(address("gallery", knit_along))) == made[::-1]

    @pytest.mark.parametrize("family", Family)
    def test_each_family_finds_the_palettes_that_have_it(self, as_kit, knit_along, family):
        for lab in (RED, BLUE, (75.0, 5.0, 60.0), (50.0, -40.0, 25.0), (45.0, 30.0, -35.0)):
            register(knit_along, labs=with_colour(lab))
        response = as_kit.get(address("gallery", knit_along), {"family": family})
        expected = [
            registration.pk
            for registration in Registration.objects.order_by("-pk")
            if any(family in yarn.family_names for yarn in registration.chosen)
        ]
        assert shown(response) == expected

    def test_a_yarn_near_a_border_is_found_under_both_nearer_first(self, as_kit, knit_along):
        near = next(
            yarn.lab
            for hue in range(-60, 60)
            if len((yarn := Yarn(lab_l=40, lab_a=hue / 2, lab_b=-35)).family_names) == 2
        )
        registration = register(knit_along, labs=with_colour(near))
        first, second = registration.chosen[-1].family_names
        for family in (first, second):
            response = as_kit.get(address("gallery", knit_along), {"family": family})
            assert shown(response) == [registration.pk]
        page = as_kit.get(address("gallery", knit_along)).content.decode()
        assert f"{first}, near {second}" in page

    def test_a_spares_colour_is_not_the_palettes(self, as_kit, knit_along):
        register(knit_along, spare=RED)
        assert shown(as_kit.get(address("gallery", knit_along), {"family": "red"})) == []

    @pytest.mark.parametrize(
        ("light", "run"),
        [(70, "light"), (60, "light"), (59.9, "balanced"), (45, "balanced"), (44.9, "dark")],
    )
    def test_runs_light_balanced_or_dark_by_its_mean_lightness(
        self, as_kit, knit_along, light, run
    ):
        assert run_of(light) == run
        registration = register(knit_along, labs=[(light, 0.0, 0.0)] * 5)
        for asked in ("light", "balanced", "dark"):
            found = shown(as_kit.get(address("gallery", knit_along), {"run": asked}))
            assert found == ([registration.pk] if asked == run else [])

    def test_both_filters_together(self, as_kit, knit_along):
        register(knit_along, labs=[RED] * 5)
        register(knit_along, labs=[(80.0, 0.0, 0.0)] * 5)
        wanted = register(knit_along, labs=[(80.0, 0.0, 0.0)] * 4 + [RED])
        response = as_kit.get(address("gallery", knit_along), {"family": "red", "run": "light"})
        assert shown(response) == [wanted.pk]

    @pytest.mark.parametrize("asked", [{"family": "mauve"}, {"run": "sideways"}])
    def test_no_such_choice_says_so_and_shows_them_all(self, as_kit, knit_along, asked):
        registration = register(knit_along)
        response = as_kit.get(address("gallery", knit_along), asked)
        assert response.status_code == 400
        assert "There is no such choice; here is the whole gallery." in response.content.decode()
        assert shown(response) == [registration.pk]

    def test_nothing_found_says_how_to_go_on(self, as_kit, knit_along):
        page = as_kit.get(address("gallery", knit_along), {"run": "dark"}).content.decode()
        assert "Nobody shows a palette like that yet." in page

    def test_every_swatch_has_its_family_and_lightness_in_words(self, as_kit, knit_along):
        registration = register(knit_along, labs=with_colour(RED))
        for page in (
            address("gallery", knit_along),
            address("gallery_palette", knit_along, registration.palette_id),
        ):
            text = as_kit.get(page).content.decode()
            for yarn in registration.chosen:
                assert yarn.colour_words in text
                assert yarn.lightness in yarn.colour_words
                assert yarn.family in yarn.colour_words

    def test_what_others_have_in_their_bag_is_not_shown(self, as_kit, knit_along):
        registration = register(knit_along)
        page = address("gallery_palette", knit_along, registration.palette_id)
        text = as_kit.get(page).content.decode()
        assert "Every pair" in text
        assert "Enough yarn?" not in text

    def test_a_link_outlives_a_new_registration(self, as_kit, knit_along):
        registration = register(knit_along)
        palette = registration.palette
        palette.yarns.filter(position=0).update(name="Second thoughts")
        register_palette(palette, now=timezone.now())
        text = as_kit.get(address("gallery_palette", knit_along, palette.pk)).content.decode()
        assert "Second thoughts" in text


@pytest.fixture
def many(knit_along):
    """Sixty registrations, two and a half pages, without the yarns' cost of registering each."""
    return [fake_registration(knit_along, n) for n in range(PAGE_SIZE * 2 + 12)]


def fake_registration(knit_along, n):
    participant = make_participant(knit_along, f"Many{n}", shows_palette=True)
    registration = Registration.objects.create(
        palette=make_palette(participant),
        knit_along=knit_along,
        number=1,
        mean_lightness=50,
        registered_at=timezone.now() - timedelta(hours=n),
    )
    GalleryEntry.objects.create(
        registration=registration, knit_along=knit_along, participant=participant, run="balanced"
    )
    return registration.pk


class TestPages:
    """A cursor names a place in the gallery, and cannot be made up."""

    def follow(self, client, knit_along, side, response):
        cursor = getattr(response.context["page"], side)
        return client.get(address("gallery", knit_along), {"after": cursor})

    def test_every_palette_is_on_exactly_one_page(self, as_kit, knit_along, many):
        response = as_kit.get(address("gallery", knit_along))
        seen = shown(response)
        while response.context["page"].older:
            response = self.follow(as_kit, knit_along, "older", response)
            seen += shown(response)
        assert seen == many[::-1]

    def test_and_back_again(self, as_kit, knit_along, many):
        pages = [as_kit.get(address("gallery", knit_along))]
        while pages[-1].context["page"].older:
            pages.append(self.follow(as_kit, knit_along, "older", pages[-1]))
        assert not pages[0].context["page"].newer
        back = pages[-1]
        for earlier in pages[-2::-1]:
            back = self.follow(as_kit, knit_along, "newer", back)
            assert shown(back) == shown(earlier)
        assert not back.context["page"].newer

    def test_a_palette_registered_meanwhile_moves_nothing(self, as_kit, knit_along, many):
        first = as_kit.get(address("gallery", knit_along))
        before = shown(self.follow(as_kit, knit_along, "older", first))
        fake_registration(knit_along, 999)
        assert shown(self.follow(as_kit, knit_along, "older", first)) == before

    def test_links_keep_the_filter(self, as_kit, knit_along, many):
        response = as_kit.get(address("gallery", knit_along), {"run": "balanced"})
        assert "?run=balanced&amp;after=" in response.content.decode()

    @pytest.mark.parametrize("change", ["cut", "made up", "other knit-along", "other letters"])
    def test_a_changed_cursor_is_400_and_shows_the_first_page(
        self, as_kit, knit_along, many, change
    ):
        cursor = read_page(knit_along).older
        other = make_knit_along()
        for n in range(PAGE_SIZE + 1):
            fake_registration(other, n)
        changed = {
            "cut": cursor[:-2],
            "made up": "[1,2]",
            "other knit-along": read_page(other).older,
            "other letters": cursor.swapcase(),
        }[change]
        response = as_kit.get(address("gallery", knit_along), {"after": changed})
        assert response.status_code == 400
        assert "could not be found, so this is its first page" in response.content.decode()
        assert shown(response) == many[: -PAGE_SIZE - 1 : -1]

    def test_a_cursor_does_not_show_its_insides(self, knit_along, many):
        cursor = read_page(knit_along).older
        assert str(many[-PAGE_SIZE]) not in cursor.split(":")[0]

    def test_queries_do_not_grow_with_the_gallery(
        self, as_kit, knit_along, django_assert_num_queries
    ):
        register(knit_along)
        # Session, person, participant, kits; which there are, their entries, participants, users,
        # registrations and yarns. PostgreSQL is told first not to sort, and since the test's own
        # transaction goes on, that it may again, by two statements.
        queries = 13 if connection.vendor == "postgresql" else 10
        with django_assert_num_queries(queries):
            as_kit.get(address("gallery", knit_along))
        for _ in range(6):
            register(knit_along)
        with django_assert_num_queries(queries):
            as_kit.get(address("gallery", knit_along))
