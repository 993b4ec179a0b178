"""The list of clues: countdowns, clocks, what changed and why, and an honest word when late."""

import re
from datetime import UTC, datetime, timedelta

import pytest
import time_machine

from kal.models import KnitAlong, User
from schedule.changes import Ask, Change
from tests.builders import NOON, make_clue, make_knit_along, make_participant
from tests.changing import WHY, make_change
from tests.conftest import signed_in
from tests.pages import words

DAY, SECOND = timedelta(days=1), timedelta(seconds=1)


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOON - DAY, tick=False) as traveller:
        yield traveller


def read(client, knit_along, **headers) -> str:
    response = client.get(f"/k/{knit_along.slug}/clues/", headers=headers)
    return words(response)


def said(page: str) -> str:
    """The page as it is read, without its tags."""
    return " ".join(re.sub(r"<[^>]+>", " ", page).split())


def test_the_next_clue_counts_down_to_the_second(knit_along, as_kit, clock):
    make_clue(knit_along, 1)
    clock.move_to(NOON - timedelta(days=3, hours=4))
    assert ">in 3 days 4 hours</span>" in read(as_kit, knit_along)
    clock.move_to(NOON - SECOND)
    page = read(as_kit, knit_along)
    assert ">in less than a minute</span>" in page
    assert 'data-until="2027-03-01T12:00:00Z"' in page
    assert 'data-now="2027-03-01T11:59:59Z"' in page
    assert 'data-look-again-at="2027-03-01T12:00:00Z"' in page
    clock.move_to(NOON)
    page = read(as_kit, knit_along)
    assert "data-until" not in page
    assert "data-look-again-at" not in page
    assert 'data-latest="Clue 1 is out."' in page


def test_an_open_page_fetches_the_list_alone(knit_along, as_kit):
    make_clue(knit_along, 1)
    part = read(as_kit, knit_along, **{"HX-Request": "true"})
    assert part.startswith('<div id="clue-list"')
    assert "<html" not in part
    assert part in read(as_kit, knit_along)


@pytest.mark.parametrize("state", [{"ready_at": None}, {"is_held": True}])
def test_a_late_clue_is_said_to_be_late_and_looked_for_again(knit_along, as_kit, clock, state):
    make_clue(knit_along, 1, **state)
    clock.move_to(NOON - SECOND)
    assert "Late" not in read(as_kit, knit_along)
    clock.move_to(NOON)
    page = read(as_kit, knit_along)
    assert "Late. It was due" in said(page)
    assert "It is not ready yet. It appears here as soon as the organiser lets it go" in said(page)
    assert 'data-look-again-at="2027-03-01T12:05:00Z"' in page
    assert "Clue title 1" not in page


def test_a_move_is_told_with_why_in_both_zones(knit_along, hana, kit, as_kit):
    make_clue(knit_along, 1)
    make_clue(knit_along, 2)
    User.objects.filter(pk=kit.user_id).update(zone="America/Halifax")
    make_change(knit_along, Change(Ask.SHIFT, 2, days=7), by=hana.user, now=NOON - DAY)
    page = said(read(as_kit, knit_along))
    assert (
        "Clue 2 moves from Monday 8 March 2027, 08:00 (Monday 8 March, 12:00 in Europe/Lisbon) to "
        "Monday 15 March 2027, 09:00 (Monday 15 March, 12:00 in Europe/Lisbon)."
    ) in page
    assert f"Why: {WHY}" in page


def test_old_changes_are_no_news(knit_along, hana, as_kit):
    make_clue(knit_along, 1)
    make_change(
        knit_along, Change(Ask.SHIFT, 1, days=1), by=hana.user, now=NOON - timedelta(days=23)
    )
    assert "The schedule has changed" not in read(as_kit, knit_along)


def test_changes_made_before_anybody_knew_the_dates_are_not_told(db):
    knit_along = make_knit_along(is_public=False, sign_up_opens_at=NOON)
    kit = make_participant(knit_along)
    make_clue(knit_along, 1)
    change = Change(Ask.SHIFT, 1, days=1)
    make_change(knit_along, change, by=kit.user, now=NOON - DAY, reason="")
    assert "The schedule has changed" not in read(signed_in(kit.user), knit_along)


def test_a_hold_that_was_told_is_shown_and_one_that_was_not_is_not(knit_along, hana, as_kit):
    make_clue(knit_along, 1)
    make_clue(knit_along, 2, is_held=True)
    make_change(knit_along, Change(Ask.HOLD, 1), by=hana.user, now=NOON - DAY)
    page = said(read(as_kit, knit_along))
    assert page.count("Held back.") == 1
    assert "Held back. It was to go out Monday 1 March 2027, 12:00" in page
    make_change(knit_along, Change(Ask.LET_GO, 1), by=hana.user, now=NOON - DAY + SECOND)
    assert "Held back." not in said(read(as_kit, knit_along))


@pytest.mark.parametrize(
    ("reader", "sentence"),
    [
        ("Europe/Lisbon", "which is 6 days 23 hours after the one before."),
        ("Asia/Tokyo", "By your clock it comes at 20:00, where the clue before came at 21:00"),
    ],
)
def test_a_change_of_the_clocks_is_explained_where_it_occurs(
    db, clock, knit_along, kit, as_kit, reader, sentence
):
    """Lisbon goes to summer time on 28 March 2027 (tz database, file europe)."""
    User.objects.filter(pk=kit.user_id).update(zone=reader)
    make_clue(knit_along, 1, release_at=datetime(2027, 3, 21, 12, tzinfo=UTC))
    make_clue(knit_along, 2, release_at=datetime(2027, 3, 28, 11, tzinfo=UTC))
    make_clue(knit_along, 3, release_at=datetime(2027, 4, 4, 11, tzinfo=UTC))
    page = said(read(as_kit, knit_along))
    assert page.count(sentence) == 1
    assert page.index("Clue 2") < page.index(sentence) < page.index("Clue 3")


def test_no_space_strays_in_front_of_a_stop_or_a_bracket(knit_along, hana, kit, as_kit, clock):
    KnitAlong.objects.filter(pk=knit_along.pk).update(zone="America/Halifax")
    for number in (1, 2, 3):
        make_clue(knit_along, number, is_held=number == 2)
    make_change(knit_along, Change(Ask.SHIFT, 3, days=1), by=hana.user, now=NOON - DAY)
    clock.move_to(NOON + 8 * DAY)
    for client in (as_kit, signed_in(hana.user)):
        for page in ("clues/", "prepare/", "clues/1/"):
            text = client.get(f"/k/{knit_along.slug}/{page}").content.decode()
            assert not re.search(r"\s[.,;)]", re.sub(r"<[^>]+>", "", text)), page


def test_the_knit_alongs_own_page_counts_down_for_those_who_take_part(
    knit_along, hana, as_kit, client, clock
):
    make_clue(knit_along, 1)
    clock.move_to(NOON - timedelta(days=3, hours=4))
    home = knit_along.get_absolute_url()

    def page(reader) -> str:
        return said(reader.get(home).content.decode())

    assert "Clue 1 goes out in 3 days 4 hours." in page(as_kit)
    assert "Clue 1 goes out in" not in page(client)
    make_change(knit_along, Change(Ask.HOLD, 1), by=hana.user, now=NOON - DAY)
    assert "Clue 1 goes out in" not in page(as_kit)


def test_two_zones_whose_clocks_agree_show_one_time(knit_along, kit, as_kit):
    """Lisbon and London keep the same time all year (IANA time zone data)."""
    make_clue(knit_along, 1)
    for zone, shows_both in (("Europe/London", False), ("America/Toronto", True)):
        kit.user.zone = zone
        kit.user.save()
        assert ("organiser-time" in read(as_kit, knit_along)) is shows_both


def test_the_footer_says_whose_zone_the_desk_is_in(knit_along, hana, as_hana):
    page = f"/k/{knit_along.slug}/desk/clues/"
    hana.user.zone = "America/Toronto"
    hana.user.save()
    footer = "Times of the schedule are in Europe/Lisbon, the knit-along\u2019s zone; all others in"
    assert f"{footer} America/Toronto." in said(as_hana.get(page).content.decode())
    hana.user.zone = "Europe/Lisbon"
    hana.user.save()
    assert "Times are shown in Europe/Lisbon." in said(as_hana.get(page).content.decode())
