"""The palettes nearest to mine, and everybody's in one picture: whose, and kept how."""

from io import BytesIO

import pytest
from django.utils import timezone
from PIL import Image

from palettes import near
from palettes.actions import register_palette
from palettes.models import Yarn
from palettes.near import SHOWN
from palettes.templatetags.palette_words import how_near
from tests.builders import make_palette, make_yarn
from tests.web.test_gallery import BLUE, GREYS, RED, address, register, with_colour


@pytest.fixture(autouse=True)
def nothing_kept():
    near._kept.clear()


@pytest.fixture
def mine(kit):
    """Kit's five greys, chosen and not registered."""
    palette = make_palette(kit)
    for n, (light, a, b) in enumerate(GREYS):
        make_yarn(palette, place=Yarn.Place.CHOSEN, position=n, lab_l=light, lab_a=a, lab_b=b)
    return palette


def found(response):
    return [each.entry.registration_id for each in response.context["near"]]


def by_warmth(knit_along, *warmths):
    return [
        register(knit_along, labs=[(light, 0.0, warmth) for light, _, _ in GREYS])
        for warmth in warmths
    ]


class TestNear:
    def test_nearest_first(self, as_kit, knit_along, mine):
        far, near_one, middle = by_warmth(knit_along, 30.0, 5.0, 15.0)
        response = as_kit.get(address("near_mine", knit_along))
        assert found(response) == [near_one.pk, middle.pk, far.pk]

    def test_how_near_is_said_in_words(self, as_kit, knit_along, mine):
        by_warmth(knit_along, 0.0, 5.0, 60.0)
        page = as_kit.get(address("near_mine", knit_along)).content.decode()
        same, near_one, far = page.split('<ol class="gallery-list')[1].split("<li ")[1:]
        assert "As good as the same" in same
        assert "(0 a yarn)" in same
        assert ">Near <" in near_one
        assert "Quite different" in far

    @pytest.mark.parametrize(
        ("distance", "words"),
        [
            (1.99, "as good as the same"),
            (2.0, "very near"),
            (4.0, "near"),
            (9.0, "somewhat like it"),
            (18.0, "quite different"),
        ],
    )
    def test_the_words_change_at_the_bounds_of_the_grades(self, distance, words):
        assert how_near(distance) == words

    def test_their_yarns_stand_by_the_ones_they_are_paired_with(self, as_kit, knit_along, mine):
        register(knit_along, labs=GREYS[::-1])
        (each,) = as_kit.get(address("near_mine", knit_along)).context["near"]
        assert [yarn.lab_l for yarn in each.yarns] == [light for light, _, _ in GREYS]
        assert each.distance == pytest.approx(0, abs=1e-9)

    def test_my_own_is_not_near_mine(self, as_kit, knit_along, mine, kit):
        kit.shows_palette = True
        kit.save()
        register_palette(mine, now=timezone.now())
        (other,) = by_warmth(knit_along, 5.0)
        assert found(as_kit.get(address("near_mine", knit_along))) == [other.pk]

    def test_near_the_one_shown(self, as_kit, knit_along):
        first, second, third = by_warmth(knit_along, 0.0, 20.0, 5.0)
        response = as_kit.get(address("near_palette", knit_along, first.palette_id))
        assert found(response) == [third.pk, second.pk]

    def test_a_palette_still_to_be_chosen_says_so(self, as_kit, knit_along):
        by_warmth(knit_along, 1.0)
        response = as_kit.get(address("near_mine", knit_along))
        assert "Choose your 5 yarns" in response.content.decode()

    @pytest.mark.parametrize("how", ["hidden", "left"])
    def test_whoever_goes_is_gone_at_once(self, as_kit, knit_along, mine, how):
        gone, stays = by_warmth(knit_along, 1.0, 9.0)
        assert found(as_kit.get(address("near_mine", knit_along))) == [gone.pk, stays.pk]
        participant = gone.palette.participant
        if how == "hidden":
            participant.shows_palette = False
        else:
            participant.left_at = timezone.now()
        participant.save()
        assert found(as_kit.get(address("near_mine", knit_along))) == [stays.pk]
        page = address("near_palette", knit_along, gone.palette_id)
        assert as_kit.get(page).status_code == 404

    def test_many_who_hide_theirs_crowd_nobody_out(self, as_kit, knit_along, mine, monkeypatch):
        monkeypatch.setattr(near, "AT_FIRST", 2)
        hidden = by_warmth(knit_along, *(n / 10 for n in range(1, 8)))
        for registration in hidden:
            registration.palette.participant.shows_palette = False
            registration.palette.participant.save()
        seen = by_warmth(knit_along, 20.0, 25.0)
        assert found(as_kit.get(address("near_mine", knit_along))) == [one.pk for one in seen]

    def test_what_is_kept_follows_what_comes_and_changes(self, as_kit, knit_along, mine):
        first, second = by_warmth(knit_along, 20.0, 30.0)
        assert found(as_kit.get(address("near_mine", knit_along))) == [first.pk, second.pk]
        (third,) = by_warmth(knit_along, 25.0)
        second.palette.yarns.update(lab_b=10.0)
        renewed = register_palette(second.palette, now=timezone.now())[0]
        expected = [renewed.pk, first.pk, third.pk]
        assert found(as_kit.get(address("near_mine", knit_along))) == expected
        first.delete()
        assert found(as_kit.get(address("near_mine", knit_along))) == [renewed.pk, third.pk]

    def test_palettes_of_another_number_of_yarns_are_not_compared(self, as_kit, knit_along, mine):
        knit_along.colour_count = 4
        knit_along.save()
        register(knit_along, labs=GREYS[:4])
        knit_along.colour_count = 5
        knit_along.save()
        response = as_kit.get(address("near_mine", knit_along))
        assert found(response) == []
        assert "Nobody else shows a palette of as many yarns yet." in response.content.decode()

    def test_queries_do_not_grow(self, as_kit, knit_along, mine, django_assert_num_queries):
        page = address("near_mine", knit_along)
        by_warmth(knit_along, 20.0)
        as_kit.get(page)
        # Session, person, participant; my palette, its registration and yarns; whether anything
        # came; entries, participants, users, registrations, yarns.
        with django_assert_num_queries(12):
            as_kit.get(page)
        by_warmth(knit_along, *(float(n) for n in range(SHOWN + 3)))
        assert len(found(as_kit.get(page))) == SHOWN
        with django_assert_num_queries(12):
            as_kit.get(page)


class TestCohort:
    def test_everybody_who_shows_theirs_is_in_the_picture_and_the_table(self, as_kit, knit_along):
        register(knit_along, labs=(RED,) * 5)
        register(knit_along, labs=with_colour(BLUE))
        register(knit_along, labs=(BLUE,) * 5, shows=False)
        response = as_kit.get(address("cohort", knit_along))
        cohort = response.context["cohort"]
        assert cohort.palettes == 2
        counts = {row.family: (row.palettes, row.yarns) for row in cohort.families}
        assert counts == {"red": (1, 5), "blue": (1, 1), "neutral": (1, 4)}
        picture = as_kit.get(f"{address('cohort_picture', knit_along)}?version={cohort.version}")
        assert picture["Content-Type"] == "image/png"
        assert "immutable" in picture["Cache-Control"]
        image = Image.open(BytesIO(picture.content))
        assert image.size == (cohort.width, cohort.height)

    def test_hiding_makes_another_picture_at_once(self, as_kit, knit_along):
        register(knit_along)
        gone = register(knit_along, labs=(RED,) * 5)
        before = as_kit.get(address("cohort", knit_along)).context["cohort"]
        participant = gone.palette.participant
        participant.shows_palette = False
        participant.save()
        after = as_kit.get(address("cohort", knit_along)).context["cohort"]
        assert (before.palettes, after.palettes) == (2, 1)
        old = f"{address('cohort_picture', knit_along)}?version={before.version}"
        picture = as_kit.get(old)
        assert picture["Cache-Control"] == "no-store"
        assert picture.content == after.picture != before.picture

    def test_nobody_yet(self, as_kit, knit_along):
        text = as_kit.get(address("cohort", knit_along)).content.decode()
        assert "could be the first" in text
        assert as_kit.get(address("cohort_picture", knit_along)).status_code == 404

    @pytest.mark.parametrize("name", ["cohort", "cohort_picture", "near_mine"])
    def test_strangers_get_404(self, as_sam, client, knit_along, name):
        register(knit_along)
        assert as_sam.get(address(name, knit_along)).status_code == 404
        assert client.get(address(name, knit_along)).status_code == 302
