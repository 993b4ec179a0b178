"""Two organisers who confirm at the same instant: one change is made, the other is refused."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier

import pytest
from django.db import connection

from kal.models import Role
from schedule.actions import change_schedule
from schedule.changes import Ask, Change, fingerprint
from schedule.errors import StaleSchedule
from schedule.models import ScheduleChange
from tests.builders import NOON, make_clue, make_knit_along, make_participant

TODAY = NOON - timedelta(days=1)


@pytest.mark.django_db(transaction=True)
def test_one_of_two_changes_at_once_is_made_and_the_other_refused():
    knit_along = make_knit_along()
    clues = [make_clue(knit_along, number) for number in (1, 2, 3)]
    hosts = [make_participant(knit_along, name, Role.ORGANISER).user for name in ("Hana", "Ivo")]
    seen, together = fingerprint(clues), Barrier(2)

    def confirm(host, days) -> str:
        together.wait(timeout=30)
        change = Change(Ask.SHIFT, 1, rest=True, days=days)
        try:
            change_schedule(
                knit_along, change, seen=seen, reason="Why", tells=False, by=host, now=TODAY
            )
        except StaleSchedule:
            return "refused"
        finally:
            connection.close()
        return "made"

    with ThreadPoolExecutor(2) as pool:
        came_of_it = list(pool.map(confirm, hosts, (1, 2)))
    assert sorted(came_of_it) == ["made", "refused"]
    days = 1 if came_of_it[0] == "made" else 2
    moved = ScheduleChange.objects.values_list("before_at", "after_at")
    assert {after - before for before, after in moved if after} == {timedelta(days=days)}
    assert ScheduleChange.objects.count() == 3
