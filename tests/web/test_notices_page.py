"""The organiser's page on mail: what was sent, what did not arrive and why."""

from datetime import timedelta

import pytest
import time_machine

from kal.models import AuditEntry
from schedule.models import Notice
from tests.builders import NOON, make_clue, make_participant
from tests.pages import words


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOON, tick=False) as traveller:
        yield traveller


def notice(clue, participant, **fields):
    return Notice.objects.create(
        clue=clue,
        participant=participant,
        kind="clue-out",
        mail_id=f"<{participant.pk}@knits.example>",
        try_after=NOON,
        **fields,
    )


def test_failures_are_listed_with_their_reason_and_can_be_tried_again(
    as_hana, knit_along, kit, hana
):
    clue = make_clue(knit_along)
    gone = make_participant(knit_along, "Gone", left_at=NOON)
    failed = notice(clue, kit, attempts=6, gave_up_at=NOON, error="550 no such mailbox")
    unwanted = notice(clue, gone, gave_up_at=NOON, error="They had left")
    notice(clue, hana, sent_at=NOON)
    address = f"/k/{knit_along.slug}/desk/notices/"
    page = words(as_hana.get(address))
    assert "550 no such mailbox" in page
    assert "given up after 6 attempts" in page
    assert "Try the 1 given up once more" in page
    as_hana.post(f"{address}retry/")
    failed.refresh_from_db()
    unwanted.refresh_from_db()
    assert (failed.gave_up_at, failed.attempts) == (None, 0)
    assert unwanted.gave_up_at == NOON
    assert list(Notice.objects.unsent(NOON + timedelta(seconds=1))) == [failed]
    assert AuditEntry.objects.get().detail == {"notices": 1}


def test_the_page_is_the_organisers_alone(as_kit, as_sam, knit_along):
    for client in (as_kit, as_sam):
        assert client.get(f"/k/{knit_along.slug}/desk/notices/").status_code == 404
        assert client.post(f"/k/{knit_along.slug}/desk/notices/retry/").status_code == 404
