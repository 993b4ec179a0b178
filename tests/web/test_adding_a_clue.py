"""Adding a clue at the end: shown first, at the time proposed or another, made on a yes."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.core import mail

from kal.models import AuditEntry, KnitAlong, Role, User
from schedule.models import Clue, Notice, ScheduleChange
from schedule.notices.sweep import sweep
from tests.builders import NOON, make_clue, make_knit_along, make_participant
from tests.changing import PREVIEW, WHY, confirm, instants, token_of
from tests.conftest import signed_in
from tests.pages import words

DAY = timedelta(days=1)
TODAY = NOON - DAY


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(TODAY, tick=False) as traveller:
        yield traveller


def test_it_is_shown_a_cadence_after_the_last_and_made_on_a_yes(as_hana, knit_along, desk, clues):
    before = instants(knit_along)
    page = as_hana.get(f"{desk}add/")
    assert page.status_code == 200
    text = words(page)
    assert "<dd>not in the schedule</dd>" in text
    # 12:00 in Lisbon both times, a week apart.
    assert "<strong>Monday 22 March 2027, 12:00</strong>" in text
    assert "No other clue moves or changes its number." in text
    assert "Clue 4 is new: it is due Monday 22 March 2027, 12:00 (Europe/Lisbon)." in text
    assert instants(knit_along) == before
    assert not ScheduleChange.objects.exists()
    confirm(as_hana, desk, page)
    assert instants(knit_along) == [*before, NOON + DAY * 21]
    assert Clue.objects.get(number=4).ready_at is None
    knit_along.refresh_from_db()
    assert knit_along.clue_count == 4


def test_who_and_why_are_kept_and_logged(as_hana, hana, knit_along, desk, clues):
    confirm(as_hana, desk, as_hana.get(f"{desk}add/"))
    change = ScheduleChange.objects.get()
    assert (change.number, change.kind, change.after_at) == (4, "added", NOON + DAY * 21)
    assert (change.clue, change.clue_key) == (Clue.objects.get(number=4), change.clue_id)
    assert (change.actor, change.reason, change.is_public) == (hana.user, WHY, True)
    entry = AuditEntry.objects.filter(knit_along=knit_along).first()
    assert entry
    assert (entry.act, entry.detail["why"]) == ("added a clue", WHY)
    assert entry.detail["to_instant"] == "2027-03-22 12:00 UTC"


def test_another_time_is_shown_before_it_is_taken(as_hana, knit_along, desk, clues):
    page = as_hana.get(f"{desk}add/?local=2027-03-30T12:00")
    text = words(page)
    assert "<strong>Tuesday 30 March 2027, 12:00</strong>" in text
    assert 'value="2027-03-30T12:00"' in text
    assert "Clocks go forward on 28 March" in text
    confirm(as_hana, desk, page)
    # Lisbon is an hour ahead of UTC from 28 March 2027 (tz database, file europe).
    assert instants(knit_along)[-1] == datetime(2027, 3, 30, 11, tzinfo=UTC)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("2027-03-15T12:00", "Clues 3 and 4 would go out at the same instant; move one of them."),
        ("2027-03-10T12:00", "Clue 4 would go out before clue 3;"),
        ("2027-02-01T12:00", "Clue 4 would go out at a time that has passed"),
        ("soon", "That is not a date and time"),
        ("", "Choose a date and a time."),
        ("9999-12-31T23:59", "Choose a year from 2000 to 2100."),
        ("2027-03-30T18:00+09:00", "That is not a date and time"),
    ],
)
def test_a_time_that_cannot_be_is_one_sentence(as_hana, knit_along, desk, clues, typed, sentence):
    page = as_hana.get(f"{desk}add/", {"local": typed})
    assert page.status_code == 422
    assert words(page).count(sentence) == 1
    # What can be had instead is still shown, and can be said yes to.
    assert "<strong>Monday 22 March 2027, 12:00</strong>" in words(page)
    assert not ScheduleChange.objects.exists()


def test_one_added_late_is_not_in_the_past(as_hana, knit_along, desk, clues, clock):
    clock.move_to(NOON + DAY * 40)
    confirm(as_hana, desk, as_hana.get(f"{desk}add/"))
    assert instants(knit_along)[-1] > NOON + DAY * 40


def test_a_time_that_passes_while_it_is_looked_at_is_refused_and_another_shown(
    as_hana, knit_along, desk, clues, clock
):
    page = as_hana.get(f"{desk}add/")
    clock.move_to(NOON + DAY * 21)
    refused = confirm(as_hana, desk, page)
    assert refused.status_code == 422
    assert "Clue 4 would go out at a time that has passed" in words(refused)
    assert Clue.objects.count() == 3


def test_the_first_clue_of_an_empty_schedule_is_due_at_cast_on_and_takes_it_along(
    as_hana, knit_along, desk, clock
):
    KnitAlong.objects.filter(pk=knit_along.pk).update(cast_on_at=NOON)
    assert "Monday 1 March 2027, 12:00" in words(as_hana.get(f"{desk}add/"))
    clock.move_to(NOON + timedelta(seconds=30))
    confirm(as_hana, desk, as_hana.get(f"{desk}add/"))
    knit_along.refresh_from_db()
    assert instants(knit_along) == [knit_along.cast_on_at] == [NOON + DAY]


def test_there_are_at_most_thirty(as_hana, knit_along, desk):
    for number in range(1, 31):
        make_clue(knit_along, number)
    page = as_hana.get(f"{desk}add/")
    assert page.status_code == 422
    assert "at most 30 clues" in words(page)
    assert not PREVIEW.search(page.content.decode())


def test_two_organisers_who_add_at_once_do_not_add_two_unseen(as_hana, knit_along, desk, clues):
    as_ivo = signed_in(make_participant(knit_along, "Ivo", Role.ORGANISER).user)
    hers, his = as_hana.get(f"{desk}add/"), as_ivo.get(f"{desk}add/")
    confirm(as_hana, desk, hers)
    page = confirm(as_ivo, desk, his, reason="A reason of Ivo")
    assert page.status_code == 409
    text = words(page)
    assert "nothing of yours was done yet: Hana added a clue on 28 February, 12:00." in text
    assert "A reason of Ivo" in text
    assert "<strong>Monday 29 March 2027, 12:00</strong>" in text  # a week after hers
    assert Clue.objects.count() == 4
    confirm(as_ivo, desk, page)
    assert instants(knit_along)[3:] == [NOON + DAY * 21, datetime(2027, 3, 29, 11, tzinfo=UTC)]


def test_a_preview_counts_only_for_whom_it_was_made(as_hana, knit_along, desk, clues):
    token = token_of(as_hana.get(f"{desk}add/"))
    as_ivo = signed_in(make_participant(knit_along, "Ivo", Role.ORGANISER).user)
    refused = as_ivo.post(f"{desk}change/", {"preview": token, "reason": WHY})
    assert refused.status_code == 422
    assert Clue.objects.count() == 3


def test_a_reason_is_required_once_people_know_the_dates(as_hana, knit_along, desk, clues):
    page = confirm(as_hana, desk, as_hana.get(f"{desk}add/"), reason=" ")
    assert page.status_code == 422
    assert "Say in a sentence why: people may have planned by these dates." in words(page)
    assert "See it at this time" in words(page)
    assert Clue.objects.count() == 3


def test_dates_that_nobody_knows_need_no_reason(db):
    knit_along = make_knit_along(is_public=False, sign_up_opens_at=TODAY + DAY)
    hana = make_participant(knit_along, "Hana", Role.ORGANISER)
    client, desk = signed_in(hana.user), f"/k/{knit_along.slug}/desk/clues/"
    confirm(client, desk, client.get(f"{desk}add/"), reason="")
    assert ScheduleChange.objects.get().is_public is False


def test_whoever_wants_mail_is_told_on_their_own_clocks_if_so_ticked(
    as_hana, knit_along, desk, clues, mailoutbox
):
    rin = make_participant(knit_along, "Rin")
    User.objects.filter(pk=rin.user_id).update(zone="Asia/Tokyo")
    make_participant(knit_along, "Shy", wants_notices=False)
    page = as_hana.get(f"{desk}add/")
    assert "1 participant at present, and hosts who want mail." in words(page)
    assert "Monday 22 March 2027, 21:00 (Asia/Tokyo): 1 person" in words(page)
    confirm(as_hana, desk, page, tells="on")
    sweep(clock=lambda: TODAY)
    told = {message.to[0]: message for message in mail.outbox}
    assert len(told) == 2
    message = told[rin.user.email]
    assert message.subject == "Clue 4 is new"
    assert "it is due Monday 22 March 2027, 21:00 (Monday 22 March, 12:00 in Europe/Lisbon)." in (
        " ".join(message.body.split())
    )


def test_without_the_tick_nobody_is_mailed_and_the_page_says_what_is_new(
    as_hana, as_kit, knit_along, desk, clues
):
    done = confirm(as_hana, desk, as_hana.get(f"{desk}add/"))
    assert "Clue 4 is new: it is due" in words(done)
    assert not Notice.objects.exists()
    assert "Clue 4 is new: it is due" in words(as_kit.get(f"/k/{knit_along.slug}/clues/"))


def test_it_is_the_organisers_alone_and_only_asked_for(as_hana, as_kit, as_sam, desk, clues):
    for client in (as_kit, as_sam):
        assert client.get(f"{desk}add/").status_code == 404
    assert as_hana.post(f"{desk}add/").status_code == 405
    assert Clue.objects.count() == 3
