"""Alerts to the organisers that a clue is not ready: in time, once each, and only while true."""

from datetime import timedelta

import pytest
import time_machine

from kal.models import Participant, Role, User
from schedule.actions import mark_ready
from schedule.changes import Ask, Change
from schedule.models import Clue, Message, Notice
from schedule.notices.alerts import raise_alerts
from schedule.notices.sweep import sweep
from tests.builders import NOON, make_clue, make_participant
from tests.changing import make_change

HOUR, SECOND = timedelta(hours=1), timedelta(seconds=1)


@pytest.fixture
def clue(knit_along, hana):
    return make_clue(knit_along, 1, ready_at=None)


def swept(at):
    return sweep(clock=lambda: at)


def subjects(mailoutbox):
    return [message.subject for message in mailoutbox]


def flat(message) -> str:
    return " ".join(message.body.split())


@pytest.mark.parametrize(
    ("hours", "subject"),
    [
        (48, "Clue 1 is not ready, and due in 2 days"),
        (24, "Clue 1 is not ready, and due in 1 day"),
        (2, "Clue 1 is not ready, and due in 2 hours"),
        (0, "Clue 1 is late: it is not ready"),
    ],
)
def test_an_alert_comes_at_its_second_and_not_before(clue, mailoutbox, hours, subject):
    due = NOON - hours * HOUR
    this_one = Message.objects.filter(key__endswith=f":{hours}h")
    swept(due - SECOND)
    before = len(mailoutbox)
    assert not this_one.exists()
    swept(due)
    assert subjects(mailoutbox)[before:] == [subject]
    assert this_one.count() == 1


def test_each_comes_once_however_often_the_worker_looks(clue, mailoutbox):
    at = NOON - 49 * HOUR
    while at < NOON + 49 * HOUR:
        swept(at)
        at += HOUR / 2
    assert len(mailoutbox) == 4
    assert len({message.message()["Message-ID"] for message in mailoutbox}) == 4


def test_it_goes_to_the_organisers_whatever_they_wish_and_to_nobody_else(
    clue, knit_along, hana, mailoutbox
):
    Participant.objects.filter(pk=hana.pk).update(wants_notices=False)
    make_participant(knit_along, "Ivo", Role.ORGANISER)
    for name, role in (("Co", Role.CO_ORGANISER), ("Mo", Role.MODERATOR), ("Kit", "participant")):
        make_participant(knit_along, name, role)
    make_participant(knit_along, "Gone", Role.ORGANISER, left_at=NOON - 90 * HOUR)
    swept(NOON - 48 * HOUR)
    names = User.objects.filter(email__in=[message.to[0] for message in mailoutbox])
    assert set(names.values_list("name", flat=True)) == {"Hana", "Ivo"}


def test_it_says_when_on_both_clocks_and_names_no_title(clue, hana, knit_along, mailoutbox):
    User.objects.filter(pk=hana.user_id).update(zone="Asia/Tokyo")
    swept(NOON - 24 * HOUR)
    (message,) = mailoutbox
    assert (
        "Clue 1 goes out Monday 1 March 2027, 21:00 (Monday 1 March, 12:00 in Europe/Lisbon), "
        "in 1 day, and is not marked ready."
    ) in flat(message)
    assert f"/k/{knit_along.slug}/desk/clues/" in message.body
    assert "Clue title" not in flat(message)
    assert "late. It was due" not in flat(message)


@pytest.mark.parametrize("state", ["ready", "held", "moved", "removed"])
def test_none_is_sent_about_a_clue_that_is_ready_held_moved_or_gone(
    clue, knit_along, hana, mailoutbox, state
):
    now = NOON - 50 * HOUR
    make_clue(knit_along, 2, release_at=NOON + 500 * HOUR)
    if state == "ready":
        mark_ready(clue, ready=True, by=hana.user, now=now)
    else:
        change = {
            "held": Change(Ask.HOLD, 1),
            "moved": Change(Ask.SHIFT, 1, days=7),
            "removed": Change(Ask.REMOVE, 1),
        }[state]
        make_change(knit_along, change, by=hana.user, now=now)
    for hours in (48, 24, 2, 0):
        swept(NOON - hours * HOUR)
    assert [subject for subject in subjects(mailoutbox) if "ready" in subject] == []


@pytest.mark.parametrize("state", ["ready", "held", "moved"])
def test_one_that_was_written_and_not_sent_is_taken_back(clue, knit_along, hana, mailoutbox, state):
    raise_alerts(NOON - 48 * HOUR)
    assert Notice.objects.filter(sent_at=None).count() == 1
    now = NOON - 47 * HOUR
    if state == "ready":
        mark_ready(clue, ready=True, by=hana.user, now=now)
    else:
        ask = Change(Ask.HOLD, 1) if state == "held" else Change(Ask.SHIFT, 1, days=7)
        make_change(knit_along, ask, by=hana.user, now=now)
    swept(now)
    assert mailoutbox == []
    assert not Message.objects.exists()


def test_a_moved_clue_is_alerted_to_anew_before_its_new_instant(clue, knit_along, hana, mailoutbox):
    swept(NOON - 48 * HOUR)
    make_change(knit_along, Change(Ask.SHIFT, 1, days=7), by=hana.user, now=NOON - 47 * HOUR)
    swept(NOON + 120 * HOUR - SECOND)
    assert len(mailoutbox) == 1
    swept(NOON + 120 * HOUR)
    assert len(mailoutbox) == 2


def test_a_worker_that_was_down_sends_the_most_pressing_one_and_says_it_is_late(clue, mailoutbox):
    swept(NOON - 20 * HOUR)
    (message,) = mailoutbox
    assert message.subject == "Clue 1 is not ready, and due in 20 hours"
    assert "This alert comes 4 hours late. It was due Sunday 28 February 2027, 12:00" in flat(
        message
    )
    swept(NOON - 19 * HOUR)
    assert len(mailoutbox) == 1


def test_a_clue_long_late_is_left_alone(clue, mailoutbox):
    swept(NOON + 72 * HOUR)
    assert mailoutbox == []


def test_a_mail_server_that_is_away_does_not_lose_or_double_an_alert(clue, mailoutbox, settings):
    settings.MAILERS = {
        "default": {
            "BACKEND": "django.core.mail.backends.smtp.EmailBackend",
            "OPTIONS": {"host": "127.0.0.1", "port": 9, "timeout": 1},
        }
    }
    swept(NOON - 48 * HOUR)
    swept(NOON - 48 * HOUR + timedelta(minutes=1))
    assert Notice.objects.filter(kind="alert", sent_at=None).count() == 1


def test_the_desk_shows_it_as_long_as_it_is_true(clue, knit_along, hana, as_hana):
    desk = f"/k/{knit_along.slug}/desk/"
    with time_machine.travel(NOON - 7 * 24 * HOUR - SECOND, tick=False):
        as_hana.force_login(hana.user)
        assert "is not marked ready" not in as_hana.get(desk).content.decode()
    with time_machine.travel(NOON - 20 * HOUR, tick=False):
        page = as_hana.get(desk).content.decode()
        assert "Clue 1 goes out in 20 hours and is not marked ready." in page
    with time_machine.travel(NOON, tick=False):
        assert "Clue 1 is late: it is not ready." in as_hana.get(desk).content.decode()
        Clue.objects.update(ready_at=NOON)
        assert "Clue 1 is late" not in as_hana.get(desk).content.decode()
