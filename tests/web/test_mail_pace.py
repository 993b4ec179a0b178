"""The limit of mails a minute: even turns for all processes together, none used twice."""

from datetime import timedelta

import pytest
import time_machine
from django.core import mail
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from schedule.models import MailPace, Notice
from schedule.notices import pace
from schedule.notices.pace import take_turn
from schedule.notices.sweep import sweep
from schedule.tasks import sweep_notices
from tests.builders import NOON, make_clue, make_participant

SECOND = timedelta(seconds=1)
LATER = NOON + timedelta(hours=1)


@pytest.fixture(autouse=True)
def clock(settings, monkeypatch):
    settings.MAIL_PER_MINUTE = 60
    with time_machine.travel(NOON, tick=False) as traveller:
        monkeypatch.setattr(pace, "sleep", traveller.shift)
        yield traveller


def test_turns_are_even_whoever_takes_them(db):
    turns = [take_turn(NOON, latest=LATER) for _ in range(3)]
    assert turns == [(NOON + number * SECOND, True) for number in range(3)]
    assert take_turn(NOON + 10 * SECOND, latest=LATER) == (NOON + 10 * SECOND, True)


def test_no_minute_has_more_than_the_limit(db):
    """Half the time nobody wants a turn; what is not used then is not made up for later."""
    turns = [take_turn(NOON, latest=LATER)[0] for _ in range(90)]
    turns += [take_turn(NOON + timedelta(minutes=5), latest=LATER)[0] for _ in range(90)]
    for begin in turns:
        assert sum(begin <= turn < begin + timedelta(minutes=1) for turn in turns) <= 60


def test_a_turn_that_comes_too_late_is_left_to_another(db):
    take_turn(NOON, latest=LATER)
    assert take_turn(NOON, latest=NOON) == (NOON + SECOND, False)
    assert take_turn(NOON, latest=LATER) == (NOON + SECOND, True)


def test_a_clock_that_was_set_back_does_not_stop_the_mail(db):
    MailPace.objects.create(pk=1, next_at=LATER)
    assert take_turn(NOON, latest=LATER) == (NOON, True)


def test_a_sweep_sends_as_many_as_its_time_allows_and_the_next_one_goes_on(knit_along):
    for _ in range(15):
        make_participant(knit_along)
    make_clue(knit_along)
    tally = sweep(clock=timezone.now, until=NOON + 10 * SECOND)
    assert tally.sent == 11
    assert tally.go_on_at == NOON + 11 * SECOND
    assert not Notice.objects.exclude(claimed_until=None).exists()
    assert sweep(clock=timezone.now).sent == 4
    assert len({message.to[0] for message in mail.outbox}) == 15
    sent_at = Notice.objects.order_by("sent_at").values_list("sent_at", flat=True)
    assert list(sent_at) == [NOON + number * SECOND for number in range(15)]


def test_the_worker_queues_its_next_sweep_for_the_next_turn(knit_along):
    for _ in range(15):
        make_participant(knit_along)
    make_clue(knit_along)
    sweep_notices.call()
    assert DBTaskResult.objects.filter(run_after=NOON + 11 * SECOND).exists()
