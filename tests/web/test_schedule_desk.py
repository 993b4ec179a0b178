"""The organiser's schedule: moving, readying, holding, adding and removing clues."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine

from kal.models import AuditEntry, KnitAlong
from schedule.actions import propose_clues
from schedule.models import Clue, Revision
from tests.builders import NOON, make_clue, make_knit_along
from tests.changing import confirm, instants
from tests.pages import words

DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOON - DAY, tick=False) as traveller:
        yield traveller


def posted(desk, client, *locals_):
    return client.post(desk, {f"at_{n}": text for n, text in enumerate(locals_, start=1)})


def moved(desk, client, *locals_):
    """Type wall times, look at what would change, and say yes."""
    return confirm(client, desk, posted(desk, client, *locals_))


def acts(knit_along):
    return list(AuditEntry.objects.filter(knit_along=knit_along).values_list("act", flat=True))


def test_the_schedule_is_proposed_weekly_across_the_clocks_change(db):
    knit_along = make_knit_along(
        cast_on_at=datetime(2027, 3, 21, 18, tzinfo=UTC), clue_count=3, zone="Europe/Lisbon"
    )
    propose_clues(knit_along)
    # Lisbon goes to summer time on 28 March 2027 at 01:00 UTC (tz database, file europe).
    assert instants(knit_along) == [
        datetime(2027, 3, 21, 18, tzinfo=UTC),
        datetime(2027, 3, 28, 17, tzinfo=UTC),
        datetime(2027, 4, 4, 17, tzinfo=UTC),
    ]
    assert [clue.ready_at for clue in knit_along.clues.all()] == [None] * 3
    assert propose_clues(knit_along) == []


def test_times_are_edited_in_the_knit_alongs_zone(db, as_hana, knit_along, desk, clues):
    KnitAlong.objects.filter(pk=knit_along.pk).update(zone="Asia/Tokyo")
    page = words(as_hana.get(desk))
    assert 'value="2027-03-01T21:00"' in page
    moved(desk, as_hana, "2027-03-02T09:00", "2027-03-08T21:00", "2027-03-15T21:00")
    assert instants(knit_along)[0] == datetime(2027, 3, 2, 0, tzinfo=UTC)
    assert acts(knit_along) == ["moved a clue"]


def test_everything_can_shift_by_a_week_at_once(as_hana, knit_along, desk, clues):
    moved(desk, as_hana, "2027-03-08T12:00", "2027-03-15T12:00", "2027-03-22T12:00")
    assert instants(knit_along) == [NOON + DAY * 7, NOON + DAY * 14, NOON + DAY * 21]
    moved(desk, as_hana, "2027-03-01T12:00", "2027-03-08T12:00", "2027-03-15T12:00")
    assert instants(knit_along) == [NOON, NOON + DAY * 7, NOON + DAY * 14]


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        (
            ("2027-03-08T12:00", "2027-03-08T12:00", "2027-03-15T12:00"),
            "Clues 1 and 2 would go out at the same instant; move one of them.",
        ),
        (
            ("2027-03-01T12:00", "2027-02-28T11:59", "2027-03-15T12:00"),
            "Clue 2 would go out at a time that has passed; choose a later one.",
        ),
        (
            ("2027-03-01T12:00", "2027-03-16T12:00", "2027-03-15T12:00"),
            "Clue 3 would go out before clue 2;",
        ),
        (("2027-03-01T12:00", "soon", "2027-03-15T12:00"), "That is not a date and time"),
        (("2027-03-01T12:00", "", "2027-03-15T12:00"), "Choose a date and a time."),
    ],
)
def test_instants_that_cannot_be_are_one_sentence_and_lose_nothing(
    as_hana, knit_along, desk, clues, typed, sentence
):
    response = posted(desk, as_hana, *typed)
    page = words(response)
    assert response.status_code == 422
    assert page.count(sentence) == 1
    assert all(f'value="{text}"' in page for text in typed)
    assert instants(knit_along) == [NOON, NOON + DAY * 7, NOON + DAY * 14]


def test_a_clue_that_is_out_stays_where_it_is(as_hana, knit_along, desk, clues, clock):
    clock.move_to(NOON)
    assert 'name="at_1"' not in words(as_hana.get(desk))
    response = posted(desk, as_hana, "2027-03-02T12:00", "2027-03-08T12:00", "2027-03-15T12:00")
    assert response.status_code == 422
    assert "Clue 1 is out already, so its instant can no longer be moved." in words(response)
    moved(desk, as_hana, "", "2027-03-09T12:00", "2027-03-15T12:00")
    assert instants(knit_along)[1] == NOON + DAY * 8


def test_a_clue_announced_as_out_stays_where_it_is_though_the_clock_was_read_before(
    as_hana, knit_along, desk, clues
):
    Clue.objects.filter(number=1).update(announced_at=NOON)
    response = posted(desk, as_hana, "2027-03-02T12:00", "2027-03-08T12:00", "2027-03-15T12:00")
    assert response.status_code == 422


def test_a_late_clue_can_stay_late_while_another_moves(as_hana, knit_along, desk, clock):
    make_clue(knit_along, 1, ready_at=None)
    make_clue(knit_along, 2)
    clock.move_to(NOON + DAY)
    moved(desk, as_hana, "2027-03-01T12:00", "2027-03-09T12:00")
    assert instants(knit_along) == [NOON, NOON + DAY * 8]


def test_a_skipped_hour_moves_forward_and_says_so(as_hana, knit_along, desk, clues):
    shown = posted(desk, as_hana, "2027-03-01T12:00", "2027-03-08T12:00", "2027-03-28T01:30")
    confirm(as_hana, desk, shown)
    assert instants(knit_along)[2] == datetime(2027, 3, 28, 1, 30, tzinfo=UTC)
    page = words(shown)
    assert "The clocks skip 01:30 on 28 March 2027, so it is 02:30 on 28 March 2027." in page


def test_the_second_of_two_hours_is_kept_when_its_time_is_left_alone(as_hana, knit_along, desk):
    second = datetime(2027, 10, 31, 1, 30, tzinfo=UTC)  # 01:30 again, in winter time
    make_clue(knit_along, 1, release_at=second)
    page = words(as_hana.get(desk))
    assert 'value="2027-10-31T01:30"' in page
    assert "01:30 comes twice on 31 October in Europe/Lisbon; this is the second." in page
    posted(desk, as_hana, "2027-10-31T01:30")
    assert instants(knit_along) == [second]


def test_marking_ready_and_holding_decide_what_goes_out(as_hana, knit_along, desk, clock):
    clue = make_clue(knit_along, ready_at=None)
    as_hana.post(f"{desk}1/ready/")
    clue.refresh_from_db()
    assert clue.ready_at == NOON - DAY
    confirm(as_hana, desk, as_hana.get(f"{desk}1/hold/"))
    clock.move_to(NOON)
    assert not Clue.objects.out(NOON).exists()
    page = words(confirm(as_hana, desk, as_hana.get(f"{desk}1/hold/?held=no")))
    assert "Clue 1 is out, and mail is on its way." in page
    assert Clue.objects.out(NOON).exists()
    assert acts(knit_along) == ["let a held clue go", "held a clue back", "marked a clue ready"]


def test_what_is_out_is_not_taken_back(as_hana, knit_along, desk, clues, clock):
    clock.move_to(NOON)
    for act, method in (("ready", "post"), ("hold", "get"), ("remove", "get"), ("move", "get")):
        response = getattr(as_hana, method)(f"{desk}1/{act}/", {"ready": "no"})
        assert response.status_code == 422
        assert "Clue 1" in words(response)
        assert "out already" in words(response)
    assert Clue.objects.out(NOON).filter(number=1).exists()


def test_an_empty_clue_is_not_ready(as_hana, knit_along, desk):
    make_clue(knit_along, body="  \n", ready_at=None)
    response = as_hana.post(f"{desk}1/ready/")
    assert response.status_code == 422
    assert "Clue 1 is empty; write its text or add a file, then mark it ready." in words(response)


def test_removing_asks_first_and_renumbers_those_after(as_hana, knit_along, desk, clues):
    assert "Its text (3 words)" in words(as_hana.get(f"{desk}2/remove/"))
    assert knit_along.clues.count() == 3
    confirm(as_hana, desk, as_hana.get(f"{desk}2/remove/"))
    assert [(clue.number, clue.title) for clue in knit_along.clues.all()] == [
        (1, "Clue title 1"),
        (2, "Clue title 3"),
    ]
    assert Revision.objects.filter(clue__number=2).count() == 1


def test_a_clue_before_one_that_is_out_keeps_its_place(as_hana, knit_along, desk, clock):
    make_clue(knit_along, 1, is_held=True)
    make_clue(knit_along, 2)
    clock.move_to(NOON + DAY * 8)
    assert as_hana.get(f"{desk}1/remove/").status_code == 422
    assert knit_along.clues.count() == 2


ACTS = ["propose/", "change/", "1/ready/"]
PAGES = ["", "add/", "1/move/", "1/hold/", "1/remove/"]


@pytest.mark.parametrize("act", [*ACTS, *PAGES])
def test_the_schedule_is_the_organisers_alone(clues, as_kit, as_sam, desk, knit_along, act):
    for client in (as_kit, as_sam):
        ask = client.get if act in PAGES else client.post
        assert ask(f"{desk}{act}").status_code == 404
    assert acts(knit_along) == []
