"""The first page: mine with what is next in each, the public ones, and empty states."""

from datetime import timedelta

import pytest
import time_machine
from pytest_django import DjangoAssertNumQueries

from kal.models import Role
from palettes.models import Yarn
from tests.builders import (
    NOON,
    make_clue,
    make_kit_maker,
    make_knit_along,
    make_palette,
    make_participant,
    make_registration,
    make_user,
    make_yarn,
)
from tests.conftest import signed_in
from tests.pages import words

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def long_sessions(settings):
    """Sessions made today still hold at the dates these tests travel to."""
    settings.SESSION_COOKIE_AGE = 10 * 365 * 24 * 60 * 60


def home_at(client, instant=NOON - DAY) -> str:
    with time_machine.travel(instant, tick=False):
        return words(client.get("/"))


def test_a_visitor_sees_the_public_knit_alongs_and_no_others(client, knit_along):
    hidden = make_knit_along(title="Hidden Cove", is_public=False)
    page = home_at(client)
    assert knit_along.title in page
    assert hidden.title not in page
    assert "Sign-up is open." in page


@pytest.mark.parametrize(
    ("days", "state"), [(-70, "Sign-up opens"), (0, "Sign-up is open."), (31, "Sign-up is over.")]
)
def test_a_visitor_reads_how_sign_up_stands(client, knit_along, days, state):
    assert state in home_at(client, NOON + days * DAY)


def test_an_empty_site_says_what_to_do(client):
    assert "If an organiser sent you a link, open it" in home_at(client)


def test_somebody_who_takes_part_in_nothing_is_told_how_to_begin(as_sam):
    assert "You take part in none yet. Open the link your organiser sent you." in home_at(as_sam)


def test_somebody_without_a_name_is_asked_for_it():
    assert "telling your name and time zone" in home_at(signed_in(make_user(name="")))


def test_only_hosts_are_offered_to_create_one(as_sam, sam):
    assert "Create a knit-along" not in home_at(as_sam)
    sam.may_host = True
    sam.save()
    assert "Create a knit-along" in home_at(as_sam)


def test_one_that_was_left_is_mine_no_more(as_kit, kit):
    kit.left_at = NOON
    kit.save()
    assert "You take part in none yet." in home_at(as_kit)


class TestWhatIsNext:
    def test_enter_yarns(self, as_kit):
        assert "Enter the yarns you might use, and choose 5 of them." in home_at(as_kit)

    @pytest.mark.parametrize(
        ("count", "said"),
        [
            (1, "Choose 4 more yarns to register: the pattern takes 5."),
            (4, "Choose 1 more yarn to register: the pattern takes 5."),
            (5, "Your palette is a draft. Read its audit, then register it."),
            (6, "The pattern takes 5 yarns and 6 are chosen; make the others spares to register."),
        ],
    )
    def test_finish_and_register_the_draft(self, as_kit, kit, count, said):
        palette = make_palette(kit)
        make_yarn(palette, place=Yarn.Place.CANDIDATE)
        for _ in range(count):
            make_yarn(palette, place=Yarn.Place.CHOSEN)
        assert said in home_at(as_kit)

    def test_wait_for_the_first_clue(self, as_kit, kit):
        make_registration(kit)
        make_clue(kit.knit_along, title="Sirens")
        page = home_at(as_kit)
        assert "Wait for clue 1. It comes on" in page
        assert "Mon 1 Mar 2027, 12:00" in page
        assert "Sirens" not in page

    def test_a_palette_changed_since_is_registered_again_unless_a_clue_is_out(self, as_kit, kit):
        make_registration(kit)
        make_clue(kit.knit_along, 1)
        again = "Your palette has changed since you registered it, and the older one counts"
        assert again not in home_at(as_kit)
        changed = kit.palette.yarns.first()
        changed.lab_l = 33
        changed.save()
        page = home_at(as_kit)
        assert again in page
        assert f'href="/k/{kit.knit_along.slug}/palette/">Look at it and register again' in page
        with time_machine.travel(NOON - DAY, tick=False):
            prepare = words(as_kit.get(f"/k/{kit.knit_along.slug}/prepare/"))
        assert again in prepare
        assert "an older one is registered" in prepare
        assert "Clue 1 is out." in home_at(as_kit, NOON)

    def test_a_changed_palette_is_left_alone_once_palettes_are_closed(self, as_kit, kit):
        make_registration(kit)
        make_clue(kit.knit_along, 1)
        kit.palette.yarns.update(lab_l=33)
        kit.knit_along.palettes_closed_at = NOON - 2 * DAY
        kit.knit_along.save()
        assert "Wait for clue 1." in home_at(as_kit)

    def test_read_the_latest_clue(self, as_kit, kit):
        make_registration(kit)
        make_clue(kit.knit_along, 1)
        make_clue(kit.knit_along, 2)
        make_clue(kit.knit_along, 3)
        page = home_at(as_kit, NOON + 8 * DAY)
        assert "Clue 2 is out." in page
        assert f'href="/k/{kit.knit_along.slug}/clues/2/"' in page

    def test_a_clue_that_is_not_ready_is_late_not_out(self, as_kit, kit):
        make_registration(kit)
        make_clue(kit.knit_along, 1, ready_at=None)
        assert "Clue 1 is late; the organiser has not let it go yet." in home_at(as_kit, NOON)

    def test_nothing_planned(self, as_kit, kit):
        make_registration(kit)
        assert "The organiser has not planned the clues yet." in home_at(as_kit)

    def test_closed_palettes_are_not_asked_for(self, as_kit, kit):
        kit.knit_along.palettes_closed_at = NOON - 2 * DAY
        kit.knit_along.save()
        make_clue(kit.knit_along)
        assert "Wait for clue 1." in home_at(as_kit)

    @pytest.mark.parametrize(
        ("fields", "instant", "sentence"),
        [
            ({}, NOON - DAY, "Clue 1 is ready and goes out on"),
            ({"ready_at": None}, NOON - DAY, "Clue 1 is not marked ready; it goes out on"),
            ({"ready_at": None}, NOON, "Clue 1 is overdue and not marked ready"),
            ({"is_held": True}, NOON - DAY, "Clue 1 is held back."),
            ({}, NOON, "Every clue is out."),
        ],
    )
    def test_the_organiser_hears_of_the_coming_clue(self, as_hana, hana, fields, instant, sentence):
        make_clue(hana.knit_along, **fields)
        assert sentence in home_at(as_hana, instant)

    def test_the_reader_s_own_clock_comes_first(self, kit):
        kit.user.zone = "Asia/Tokyo"
        kit.user.save()
        make_registration(kit)
        make_clue(kit.knit_along, release_at=NOON + 6 * timedelta(hours=1))
        page = home_at(signed_in(kit.user))
        assert "Tue 2 Mar 2027, 03:00</time>" in page
        assert "(Mon 1 Mar 2027, 18:00 in Europe/Lisbon)" in page


@pytest.mark.parametrize("count", [1, 6])
def test_any_number_of_knit_alongs_takes_as_many_queries(
    sam, as_sam, count, django_assert_num_queries: DjangoAssertNumQueries
):
    for _ in range(count):
        knit_along = make_knit_along()
        make_registration(make_participant(knit_along, user=sam))
        make_clue(knit_along, 1)
        make_clue(knit_along, 2)
        make_participant(make_knit_along(), role=Role.ORGANISER)
    # Session, user, memberships, clues, kits, others; yarns of palettes and of registrations;
    # who has an open letter plan and no letters.
    with django_assert_num_queries(9):
        assert as_sam.get("/").status_code == 200


def test_other_methods_are_refused(client):
    assert client.post("/").status_code == 405


class TestMakers:
    """A shop or dyer finds the kits they were invited to propose."""

    def test_their_kits_are_a_click_away(self, sam, as_sam):
        maker = make_kit_maker(make_knit_along(), email=sam.email)
        page = home_at(as_sam)
        assert f'href="/k/{maker.knit_along.slug}/kits/mine/"' in page
        assert f"Kits for {maker.knit_along.title}" in page
        assert as_sam.get(f"/k/{maker.knit_along.slug}/kits/mine/").status_code == 200

    def test_whoever_is_not_or_no_longer_invited_reads_nothing_of_kits(self, sam, as_sam, client):
        make_kit_maker(make_knit_along(), email=sam.email, withdrawn_at=NOON)
        make_kit_maker(make_knit_along())
        for somebody in (as_sam, client):
            assert "kits/mine" not in home_at(somebody)
