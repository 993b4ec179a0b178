"""Private calendar and news feed: right, silent on secrets, and dead when they should be."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.test import Client
from django.utils import timezone

from kal.actions.joining import join
from kal.actions.people import leave, let_back, remove_participant
from kal.models import KnitAlong, Role, User
from schedule.actions.feed_keys import renew_feed_key
from schedule.changes import Ask, Change
from schedule.models import Clue, FeedKey, Revision
from schedule.notices.emails import unsubscribe_token
from tests.builders import NOON, make_clue, make_knit_along, make_participant
from tests.changing import WHY, make_change
from tests.conftest import signed_in
from tests.embargo.answers import answer_of
from tests.feed_rules import read_calendar, read_news, text
from tests.pages import words

DAY, SECOND = timedelta(days=1), timedelta(seconds=1)
TODAY = NOON - DAY


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(TODAY, tick=False) as traveller:
        yield traveller


@pytest.fixture
def address(kit, knit_along):
    return f"/k/{knit_along.slug}/feed/{renew_feed_key(kit, now=TODAY).token}/clues"


def calendar(address):
    return read_calendar(Client().get(f"{address}.ics").content)


def news(address):
    return read_news(Client().get(f"{address}.atom").content)


def event_of(address, clue):
    return calendar(address)[f"clue-{clue.pk}@localhost"]


def test_every_clue_is_an_event_at_its_instant(knit_along, clues, address):
    events = calendar(address)
    assert [event["DTSTART"].dt for event in events.values()] == [
        NOON,
        NOON + 7 * DAY,
        NOON + 14 * DAY,
    ]
    first = event_of(address, clues[0])
    assert first["SUMMARY"] == f"{knit_along.title}: clue 1"
    assert (first["SEQUENCE"], first["STATUS"]) == (0, "CONFIRMED")


@pytest.mark.parametrize(
    ("zone", "cast_on", "expected"),
    [
        # Each week the clocks change (tz database): Lisbon 28 March, Halifax 14 March, Hobart
        # 4 April and Santiago 4 April 2027, Lisbon again on 31 October.
        ("Europe/Lisbon", "2027-03-21 12:00", "2027-03-28 11:00"),
        ("America/Halifax", "2027-03-07 16:00", "2027-03-14 15:00"),
        ("Australia/Hobart", "2027-03-28 01:00", "2027-04-04 02:00"),
        ("America/Santiago", "2027-03-28 15:00", "2027-04-04 16:00"),
        ("Europe/Lisbon", "2027-10-24 11:00", "2027-10-31 12:00"),
    ],
)
def test_a_week_later_is_the_same_local_hour_where_the_clocks_change(db, zone, cast_on, expected):
    first, second = (datetime.fromisoformat(at).replace(tzinfo=UTC) for at in (cast_on, expected))
    knit_along = make_knit_along(zone=zone, cast_on_at=first)
    hana = make_participant(knit_along, "Hana", Role.ORGANISER)
    clues = [make_clue(knit_along, n, release_at=first + n * timedelta(hours=1)) for n in (1, 2)]
    change = Change(
        Ask.REPEAT, 1, local=f"{first.astimezone(knit_along.tz):%Y-%m-%dT%H:%M}", days=7
    )
    make_change(knit_along, change, by=hana.user, now=TODAY)
    key = renew_feed_key(hana, now=TODAY)
    events = calendar(f"/k/{knit_along.slug}/feed/{key.token}/clues")
    assert [events[f"clue-{clue.pk}@localhost"]["DTSTART"].dt for clue in clues] == [first, second]


def test_a_moved_clue_keeps_its_uid_and_raises_sequence_and_stamps(
    knit_along, hana, clues, address, clock
):
    before = event_of(address, clues[1])
    clock.move_to(TODAY + timedelta(hours=3))
    make_change(
        knit_along, Change(Ask.SHIFT, 2, days=2), by=hana.user, now=TODAY + timedelta(hours=3)
    )
    after = event_of(address, clues[1])
    assert after["DTSTART"].dt == NOON + 9 * DAY
    assert (before["SEQUENCE"], after["SEQUENCE"]) == (0, 1)
    assert after["LAST-MODIFIED"].dt == after["DTSTAMP"].dt == TODAY + timedelta(hours=3)
    assert after["LAST-MODIFIED"].dt > before["LAST-MODIFIED"].dt
    assert WHY in after["DESCRIPTION"]
    assert event_of(address, clues[2])["SEQUENCE"] == 0


def test_a_removed_clue_is_called_off_and_the_rest_are_renumbered(knit_along, hana, clues, address):
    make_change(knit_along, Change(Ask.REMOVE, 2), by=hana.user, now=TODAY)
    gone = event_of(address, clues[1])
    assert (gone["STATUS"], gone["SEQUENCE"]) == ("CANCELLED", 1)
    assert gone["DTSTART"].dt == NOON + 7 * DAY
    assert "Clue title" not in str(gone)
    third = event_of(address, clues[2])
    assert (third["SUMMARY"], third["SEQUENCE"]) == (f"{knit_along.title}: clue 2", 1)


def test_a_held_clue_is_tentative_until_it_is_let_go(knit_along, hana, clues, address):
    make_change(knit_along, Change(Ask.HOLD, 2), by=hana.user, now=TODAY)
    assert event_of(address, clues[1])["STATUS"] == "TENTATIVE"
    make_change(knit_along, Change(Ask.LET_GO, 2), by=hana.user, now=TODAY)
    assert event_of(address, clues[1])["STATUS"] == "CONFIRMED"


def test_an_added_clue_appears(knit_along, hana, clues, address):
    change = Change(Ask.ADD, local="2027-03-22T12:00")
    make_change(knit_along, change, by=hana.user, now=TODAY)
    added = Clue.objects.get(knit_along=knit_along, number=4)
    event = event_of(address, added)
    assert (event["SEQUENCE"], event["LAST-MODIFIED"].dt) == (0, TODAY)


def test_a_title_is_secret_until_the_second_the_clue_is_out(clues, address, clock):
    clock.move_to(NOON - SECOND)
    for kind in ("ics", "atom"):
        assert b"Clue title 1" not in Client().get(f"{address}.{kind}").content
    assert news(address) == []
    clock.move_to(NOON)
    assert event_of(address, clues[0])["SUMMARY"].endswith(": clue 1, Clue title 1")
    assert event_of(address, clues[0])["LAST-MODIFIED"].dt == NOON
    (entry,) = news(address)
    assert text(entry, "title") == "Clue 1 is out: Clue title 1"
    assert text(entry, "updated") == "2027-03-01T12:00:00Z"
    assert b"Clue title 2" not in Client().get(f"{address}.ics").content


def test_early_readers_feeds_say_no_more_than_anybodys(knit_along, hana, clues, address):
    key = renew_feed_key(hana, now=TODAY)
    theirs = f"/k/{knit_along.slug}/feed/{key.token}/clues"
    assert Client().get(f"{theirs}.ics").content == Client().get(f"{address}.ics").content


@pytest.mark.parametrize("state", [{"ready_at": None}, {"is_held": True}])
def test_a_late_clue_says_late_and_nothing_else(knit_along, address, clock, state):
    clue = make_clue(knit_along, 1, **state)
    clock.move_to(NOON - SECOND)
    assert "DESCRIPTION" not in event_of(address, clue)
    clock.move_to(NOON)
    assert "It is late" in event_of(address, clue)["DESCRIPTION"]
    assert "Clue title" not in str(event_of(address, clue))
    assert news(address) == []


def test_a_clue_let_go_late_is_news_when_it_was_let_go(knit_along, hana, clues, address, clock):
    make_change(knit_along, Change(Ask.HOLD, 1), by=hana.user, now=TODAY)
    clock.move_to(NOON + DAY)
    make_change(knit_along, Change(Ask.LET_GO, 1), by=hana.user, now=NOON + DAY)
    out = next(entry for entry in news(address) if "is out" in text(entry, "title"))
    assert text(out, "updated") == "2027-03-02T12:00:00Z"


def test_news_tells_a_move_and_why_on_the_readers_clock(knit_along, kit, hana, clues, address):
    User.objects.filter(pk=kit.user_id).update(zone="Asia/Tokyo")
    make_change(knit_along, Change(Ask.SHIFT, 2, rest=True, days=7), by=hana.user, now=TODAY)
    (entry,) = news(address)
    assert text(entry, "title") == "Clue 2 and others move"
    assert "Monday 15 March 2027, 21:00 (Monday 15 March, 12:00 in Europe/Lisbon)" in text(
        entry, "summary"
    )
    assert f"Why: {WHY}" in text(entry, "summary")


def test_news_tells_that_a_clue_was_put_right_and_not_how(knit_along, clues, address, clock):
    clock.move_to(NOON + DAY)
    Revision.objects.create(clue=clues[0], number=2, note="Row 1 is purled.", saved_at=NOON + DAY)
    Revision.objects.create(clue=clues[1], number=2, note="Not yet out.", saved_at=NOON)
    assert [text(entry, "title") for entry in news(address)] == [
        "Clue 1 was put right",
        "Clue 1 is out: Clue title 1",
    ]
    assert b"purled" not in Client().get(f"{address}.atom").content


def test_words_that_could_break_a_file_do_not(knit_along, hana, clues, address):
    title = 'Nets; buoys, "lamps" & <ropes> \\ éèê 🧶 ' + "long " * 15
    KnitAlong.objects.filter(pk=knit_along.pk).update(title=title[:120].strip())
    make_change(
        knit_along,
        Change(Ask.SHIFT, 2, days=1),
        by=hana.user,
        now=TODAY,
        reason="A; b, c: \\n {instant_1} <b>&amp;",
    )
    assert len(calendar(address)) == 3
    assert len(news(address)) == 1


def test_an_empty_schedule_is_a_file_too(knit_along, address):
    assert calendar(address) == {}
    assert news(address) == []


@pytest.mark.parametrize("kind", ["ics", "atom"])
class TestAddress:
    def test_needs_no_sign_in_and_is_kept_by_nobody_else(self, clues, address, kind):
        response = Client().get(f"{address}.{kind}")
        assert response.status_code == 200
        assert response.headers["Cache-Control"] == "private, no-cache"
        assert response.headers["X-Robots-Tag"] == "noindex"
        assert response.cookies == {}
        expected = {"ics": "text/calendar", "atom": "application/atom+xml"}[kind]
        assert response.headers["Content-Type"] == f"{expected}; charset=utf-8"

    def test_answers_304_to_a_program_that_has_these_bytes(self, clues, address, kind, clock):
        first = Client().get(f"{address}.{kind}")
        known = {"If-None-Match": first.headers["ETag"]}
        again = Client().get(f"{address}.{kind}", headers=known)
        assert (again.status_code, again.content) == (304, b"")
        assert again.headers["Cache-Control"] == "private, no-cache"
        clock.move_to(NOON)
        assert Client().get(f"{address}.{kind}", headers=known).status_code == 200

    def test_its_tag_does_not_change_with_what_is_hidden(self, clues, address, kind):
        before = Client().get(f"{address}.{kind}").headers["ETag"]
        Clue.objects.update(ready_at=None, title="Another secret", is_held=True)
        Revision.objects.all().delete()
        assert Client().get(f"{address}.{kind}").headers["ETag"] == before

    def test_head_says_the_same_without_a_body(self, clues, address, kind):
        head, get = (getattr(Client(), way)(f"{address}.{kind}") for way in ("head", "get"))
        assert head.headers["ETag"] == get.headers["ETag"]
        assert head.content == b""
        assert Client().post(f"{address}.{kind}").status_code == 405

    @pytest.mark.parametrize("end", ["left", "removed", "closed account", "renewed", "stopped"])
    def test_dies_with_the_membership_or_the_key(self, clues, kit, as_kit, address, kind, end):
        if end in ("left", "removed"):
            kit.left_at = TODAY
            kit.removed_at = TODAY if end == "removed" else None
            kit.save()
        elif end == "closed account":
            User.objects.filter(pk=kit.user_id).update(is_active=False)
        else:
            act = "renew" if end == "renewed" else "stop"
            as_kit.post(f"/k/{kit.knit_along.slug}/calendar/{act}/")
        dead = answer_of(Client().get(f"{address}.{kind}"))
        never_made = f"/k/{kit.knit_along.slug}/feed/{'x' * 32}/clues.{kind}"
        assert dead.status == 404
        assert dead == answer_of(Client().get(never_made))

    def test_opens_nothing_elsewhere(self, clues, kit, address, kind):
        other = make_knit_along()
        token = kit.feed_key.token
        assert Client().get(f"/k/{other.slug}/feed/{token}/clues.{kind}").status_code == 404
        for wrong in (unsubscribe_token(kit.pk), kit.token):
            path = f"/k/{kit.knit_along.slug}/feed/{wrong}/clues.{kind}"
            assert Client().get(path).status_code == 404
        stop = f"/k/{kit.knit_along.slug}/unsubscribe/{token}/"
        assert Client().post(stop).status_code == 404

    def test_asks_the_database_a_fixed_number_of_times(
        self, clues, address, kind, clock, django_assert_num_queries
    ):
        """The key with whose it is, clues and changes; for news errata and let-goes as well."""
        clock.move_to(NOON)
        with django_assert_num_queries({"ics": 3, "atom": 5}[kind]):
            Client().get(f"{address}.{kind}")


def test_the_page_makes_shows_renews_and_stops_the_addresses(knit_along, kit, as_kit):
    page = f"/k/{knit_along.slug}/calendar/"
    assert "Make my addresses" in words(as_kit.get(page))
    assert not FeedKey.objects.exists()
    shown = words(as_kit.post(f"{page}renew/", follow=True))
    first = FeedKey.objects.get().token
    assert f"http://localhost:8000/k/{knit_along.slug}/feed/{first}/clues.ics" in shown
    assert f'href="webcal://localhost:8000/k/{knit_along.slug}/feed/{first}/clues.ics"' in shown
    assert f"{first}/clues.atom" in shown
    assert "whoever has one can see when the clues go out" in shown
    shown = words(as_kit.post(f"{page}renew/", follow=True))
    assert first not in shown
    assert "the old ones answer no more" in shown
    as_kit.post(f"{page}stop/")
    assert not FeedKey.objects.exists()


def test_the_page_is_the_members_own(knit_along, kit, as_sam, client):
    page = f"/k/{knit_along.slug}/calendar/"
    assert as_sam.get(page).status_code == 404
    assert as_sam.post(f"{page}renew/").status_code == 404
    assert client.get(page).headers["Location"].startswith("/sign-in/")


@pytest.mark.parametrize("way_back", ["an open door", "the organiser"])
def test_who_came_back_needs_new_addresses(knit_along, kit, hana, address, clock, way_back):
    """The old ones may be in a program, or another person's hands, that they left behind."""
    assert Client().get(f"{address}.ics").status_code == 200
    clock.shift(timedelta(days=1))
    if way_back == "the organiser":
        remove_participant(kit, by=hana.user, now=timezone.now())
        let_back(kit, by=hana.user, now=timezone.now())
    else:
        leave(kit, now=timezone.now())
        knit_along.sign_up_closes_at = timezone.now() + timedelta(days=1)
        knit_along.save()
        join(knit_along, kit.user, now=timezone.now())
    assert Client().get(f"{address}.ics").status_code == 404
    page = signed_in(kit.user).get(f"/k/{knit_along.slug}/calendar/")
    assert "Make my addresses" in words(page)
    renew_feed_key(kit, now=timezone.now())
    assert words(signed_in(kit.user).get(f"/k/{knit_along.slug}/calendar/")).count("clues.ics")
