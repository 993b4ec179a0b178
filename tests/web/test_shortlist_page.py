"""The shortlist's page: what it finds, using a set, putting it back, and having too few yarns."""

import re
import threading

import pytest
from django.db import connections
from django.urls import reverse
from django.utils import timezone

from palettes.choosing import choose_set, in_their_letters
from palettes.errors import PaletteClosed, PaletteFull, YarnGone
from palettes.models import Palette, Yarn
from tests.builders import NOON, make_palette, make_participant, make_yarn
from tests.conftest import signed_in

HTMX = {"HX-Request": "true"}
CHOSEN = ("Ink pad", "Toast", "Sea glass", "Brick kiln", "Oat milk")
OTHERS = ("Plum jam", "Gorse", "Peat", "Chalk path")


@pytest.fixture
def palette(kit):
    """Five chosen yarns of nearly one lightness, a spare and three candidates that differ."""
    palette = make_palette(kit)
    for n, name in enumerate(CHOSEN):
        make_yarn(palette, name=name, place="chosen", position=n, lab_l=50 + n, lab_a=9 * n)
    for n, name in enumerate(OTHERS):
        place = "candidate" if n else "spare"
        make_yarn(palette, name=name, place=place, position=n, lab_l=15 + 25 * n, lab_b=20.0)
    return palette


@pytest.fixture
def page(knit_along):
    return reverse("palettes:shortlist", args=[knit_along.slug])


@pytest.fixture
def use(knit_along):
    return reverse("palettes:use_set", args=[knit_along.slug])


def keys(palette, *names):
    by_name = {yarn.name: yarn.pk for yarn in palette.yarns.all()}
    return [by_name[name] for name in names]


def names_in(palette, place):
    return [yarn.name for yarn in palette.yarns.filter(place=place)]


def text_of(response):
    return " ".join(re.sub(r"<[^>]+>", " ", response.content.decode()).split())


class TestThePage:
    """Ten sets of the knit-along's number of colours, and what is asked for instead."""

    def test_opens_with_ten_sets_of_as_many_yarns_as_there_are_colours(self, as_kit, palette, page):
        response = as_kit.get(page)
        sets = response.context["sets"]
        assert len(sets) == 10
        assert all(len(each.yarns) == 5 for each in sets)
        text = text_of(response)
        assert "10 sets, the best first" in text
        assert sets[0].reasons[0] in text
        assert response.content.decode().count('aria-label="Wrap card: ') == 10
        assert response.content.decode().count('aria-label="The wrap card in grey: ') == 10

    def test_honours_number_aim_and_locks(self, as_kit, palette, page):
        lock = keys(palette, "Toast", "Peat")
        response = as_kit.get(page, {"choose": 3, "aim": "bold", "lock": lock})
        for each in response.context["sets"]:
            assert len(each.yarns) == 3
            assert set(lock) < {item.yarn.pk for item in each.yarns}
        html = response.content.decode()
        assert len(re.findall(r'name="lock"[^>]* checked', html)) == 2
        assert re.search(r'value="bold"[^>]* checked', html)

    def test_htmx_gets_the_sets_alone(self, as_kit, palette, page):
        html = as_kit.get(page, {"aim": "soft"}, headers=HTMX).content.decode()
        assert html.lstrip().startswith('<section id="sets"')
        assert "HX-Request" in as_kit.get(page)["Vary"]

    def test_says_which_set_is_chosen_now(self, as_kit, palette, page):
        response = as_kit.get(page, {"lock": keys(palette, *CHOSEN)})
        (only,) = response.context["sets"]
        assert only.is_chosen_now
        assert [item.yarn.name for item in only.yarns] == list(CHOSEN)
        assert "There is only one such set." in text_of(response)
        assert "Use this set" not in text_of(response)

    def test_counts_its_queries(self, as_kit, palette, page, django_assert_num_queries):
        # Session, user, membership, yarns; the letter plan's opening and letters of one's own.
        with django_assert_num_queries(6):
            as_kit.get(page)
        for n in range(20):
            make_yarn(palette, lab_l=20.0 + n)
        with django_assert_num_queries(6):
            as_kit.get(page)

    @pytest.mark.parametrize(
        ("asked", "said"),
        [
            ({"choose": "many"}, "Choose 2 to 8 yarns."),
            ({"choose": "9"}, "Choose 2 to 8 yarns."),
            ({"choose": "1"}, "Choose 2 to 8 yarns."),
            ({"aim": "cheap"}, "Say what you would like: pick one of the five."),
            ({"lock": "0"}, "A yarn that you locked is no longer among yours; lock another."),
        ],
    )
    def test_a_question_it_cannot_read_is_one_sentence(self, as_kit, palette, page, asked, said):
        response = as_kit.get(page, asked)
        assert response.status_code == 422
        assert said in text_of(response)

    def test_more_locked_than_chosen_keeps_the_locks(self, as_kit, palette, page):
        asked = {"choose": 2, "lock": keys(palette, "Toast", "Peat", "Ink pad")}
        response = as_kit.get(page, asked)
        assert "3 yarns are locked and only 2 are chosen; unlock some." in text_of(response)
        assert len(re.findall(r'name="lock"[^>]* checked', response.content.decode())) == 3

    @pytest.mark.parametrize(
        ("count", "said"),
        [
            (0, "You have entered 0 yarns, and a set takes two at least."),
            (1, "You have entered 1 yarn, and a set takes two at least."),
            (3, "You have entered 3 yarns, and a set of 5 takes at least 5."),
        ],
    )
    def test_too_few_yarns_say_how_many_it_takes(self, as_kit, kit, page, count, said):
        palette = make_palette(kit)
        for _ in range(count):
            make_yarn(palette)
        response = as_kit.get(page)
        assert response.status_code == 200
        assert said in text_of(response)

    def test_without_a_palette_it_says_so_too(self, as_kit, page):
        assert "a set takes two at least" in text_of(as_kit.get(page))

    def test_somebody_elses_yarns_are_not_there(self, as_kit, palette, knit_along, page):
        ann = make_participant(knit_along, "Ann")
        make_yarn(make_palette(ann), name="Hers")
        assert "Hers" not in text_of(as_kit.get(page))

    def test_a_stranger_gets_404(self, as_sam, page, use):
        assert as_sam.get(page).status_code == 404
        assert as_sam.post(use).status_code == 404


class TestUsingASet:
    """The set is chosen and nothing else is; no yarn is lost, and it can be put back."""

    def test_chooses_the_set_and_sets_the_others_aside(self, as_kit, palette, page, use):
        wanted = keys(palette, "Ink pad", "Plum jam", "Sea glass", "Peat", "Oat milk")
        response = as_kit.post(f"{use}?aim=soft", {"yarn": wanted}, follow=True)
        assert response.redirect_chain == [(f"{page}?aim=soft", 302)]
        assert names_in(palette, "chosen") == [
            *("Ink pad", "Plum jam", "Sea glass", "Peat", "Oat milk")
        ]
        assert names_in(palette, "spare") == []
        assert names_in(palette, "candidate") == ["Gorse", "Chalk path", "Toast", "Brick kiln"]
        text = text_of(response)
        assert "Set aside, and kept: Toast; Brick kiln." in text
        assert "Before, you had chosen Ink pad; Toast; Sea glass; Brick kiln; Oat milk" in text

    def test_putting_it_back_restores_chosen_and_spares(self, as_kit, palette, page, use):
        as_kit.post(use, {"yarn": keys(palette, "Plum jam", "Gorse", "Peat")})
        form = as_kit.get(page).content.decode().partition('class="before')[2].partition("</form")
        fields = {
            name: re.findall(rf'name="{name}" value="(\d+)"', form[0]) for name in ("yarn", "spare")
        }
        as_kit.post(use, fields)
        assert names_in(palette, "chosen") == list(CHOSEN)
        assert names_in(palette, "spare") == ["Plum jam"]
        assert sorted(names_in(palette, "candidate")) == sorted(OTHERS[1:])

    @pytest.mark.parametrize("size", range(6))
    def test_whatever_is_chosen_what_was_before_can_be_chosen_again(self, palette, size):
        def places():
            return [
                [yarn.name for yarn in palette.yarns.chosen()],
                sorted(names_in(palette, "spare")),
                sorted(names_in(palette, "candidate")),
            ]

        before = places()
        everything = keys(palette, *OTHERS, *CHOSEN)
        earlier = choose_set(palette, everything[size : 2 * size], now=NOON)
        assert len(places()[0]) == len(everything[size : 2 * size])
        choose_set(palette, earlier.chosen, spares=earlier.spares, now=NOON)
        assert places() == before

    def test_a_second_click_changes_nothing_and_still_offers_the_way_back(
        self, as_kit, palette, page, use
    ):
        wanted = {"yarn": keys(palette, "Plum jam", "Gorse", "Peat")}
        as_kit.post(use, wanted)
        text = text_of(as_kit.post(use, wanted, follow=True))
        assert "This set is chosen already; nothing has changed." in text
        assert "Before, you had chosen Ink pad" in text

    def test_the_way_back_goes_once_something_else_has_changed(self, as_kit, palette, page, use):
        as_kit.post(use, {"yarn": keys(palette, "Plum jam", "Gorse", "Peat")})
        palette.yarns.filter(name="Gorse").update(place="candidate")
        assert "Before, you had chosen" not in text_of(as_kit.get(page))

    def test_a_yarn_removed_meanwhile_is_said_and_changes_nothing(self, as_kit, palette, use):
        wanted = keys(palette, "Ink pad", "Plum jam")
        palette.yarns.filter(name="Plum jam").delete()
        response = as_kit.post(use, {"yarn": wanted})
        assert response.status_code == 422
        assert "One of these yarns has been removed since" in text_of(response)
        assert names_in(palette, "chosen") == list(CHOSEN)

    def test_somebody_elses_yarn_is_not_taken(self, as_kit, palette, knit_along, use):
        theirs = make_yarn(make_palette(make_participant(knit_along, "Ann")), name="Hers")
        assert as_kit.post(use, {"yarn": [theirs.pk]}).status_code == 422
        theirs.refresh_from_db()
        assert theirs.place == Yarn.Place.CANDIDATE
        assert names_in(palette, "chosen") == list(CHOSEN)

    def test_more_than_the_pattern_takes_are_refused(self, palette):
        with pytest.raises(PaletteFull, match="takes 5 yarns and this set has 6; choose fewer"):
            choose_set(palette, keys(palette, *CHOSEN, "Peat"), now=NOON)

    def test_closed_palettes_stay_as_they_are(self, as_kit, palette, knit_along, page, use):
        knit_along.palettes_closed_at = timezone.now()
        knit_along.save()
        response = as_kit.post(use, {"yarn": keys(palette, "Peat", "Gorse")})
        assert response.status_code == 422
        assert "The organiser has closed the palettes" in text_of(response)
        assert "Use this set" not in text_of(as_kit.get(page))
        with pytest.raises(PaletteClosed):
            choose_set(palette, [], now=timezone.now())

    def test_a_failure_in_between_leaves_everything_as_it_was(self, palette, monkeypatch):
        def fail(*args, **kwargs):
            raise RuntimeError

        monkeypatch.setattr("palettes.choosing.Yarn.objects.bulk_update", fail)
        with pytest.raises(RuntimeError):
            choose_set(palette, keys(palette, "Peat"), now=NOON)
        assert names_in(palette, "chosen") == list(CHOSEN)

    def test_unknown_keys_are_refused(self, palette):
        with pytest.raises(YarnGone, match="2 of these yarns have been removed"):
            choose_set(palette, [10**8, 10**8 + 1], now=NOON)

    def test_a_knitter_without_a_palette_gets_404(self, knit_along, use):
        ann = signed_in(make_participant(knit_along, "Ann").user)
        assert ann.post(use, {"yarn": [1]}).status_code == 404


@pytest.mark.parametrize(
    ("chosen", "wanted", "expected"),
    [
        ([1, 2, 3], [3, 2, 1], [1, 2, 3]),
        ([1, 2, 3], [2, 7, 8], [7, 2, 8]),
        ([1, 2, 3], [3, 7], [3, 7]),
        ([], [5, 4], [5, 4]),
        ([1], [2, 1, 3], [1, 2, 3]),
        ([1, 2, 3, 4], [4, 3], [4, 3]),
    ],
)
def test_yarns_that_stay_keep_their_letters(chosen, wanted, expected):
    assert in_their_letters(chosen, wanted) == expected


@pytest.mark.django_db(transaction=True)
def test_two_sets_at_once_leave_one_of_them_whole(palette):
    """Each takes the palette's row first, so their changes never mix."""
    sets = [keys(palette, *CHOSEN[:3], "Peat", "Gorse"), keys(palette, *OTHERS, "Toast")]

    def use(wanted):
        try:
            choose_set(Palette.objects.get(pk=palette.pk), wanted, now=NOON)
        finally:
            connections.close_all()

    for _ in range(5):
        threads = [threading.Thread(target=use, args=[wanted]) for wanted in sets]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert [yarn.pk for yarn in palette.yarns.chosen()] in sets
    assert palette.yarns.count() == len(CHOSEN) + len(OTHERS)
