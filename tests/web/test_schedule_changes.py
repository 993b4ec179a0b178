"""A change of the schedule: shown first, made only as shown, with who and why, and told."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.core import mail, signing

from kal.models import AuditEntry, Role, User
from schedule.changes import SALT, Ask, Change, fingerprint, plan_change
from schedule.models import Clue, Notice, ScheduleChange
from schedule.notices.sweep import sweep
from tests.builders import NOON, make_clue, make_knit_along, make_participant
from tests.changing import PREVIEW, WHY, confirm, instants, make_change, token_of
from tests.conftest import signed_in
from tests.pages import words

DAY = timedelta(days=1)
TODAY = NOON - DAY


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(TODAY, tick=False) as traveller:
        yield traveller


SHIFT = {"rest": "yes", "ask": "shift", "way": "1", "days": "7", "hours": "0"}


def shown(client, desk, number=2, **sent):
    return client.post(f"{desk}{number}/move/", SHIFT | sent)


def test_a_change_is_shown_and_not_made_until_it_is_confirmed(as_hana, knit_along, desk, clues):
    before = instants(knit_along)
    page = shown(as_hana, desk)
    assert page.status_code == 200
    text = words(page)
    assert "Monday 8 March 2027, 12:00" in text
    assert "<strong>Monday 15 March 2027, 12:00</strong>" in text
    assert "7 days later" in text
    assert "Clue 3 moves from" in text
    assert instants(knit_along) == before
    assert not ScheduleChange.objects.exists()
    confirm(as_hana, desk, page)
    assert instants(knit_along) == [NOON, NOON + 14 * DAY, NOON + 21 * DAY]


def test_who_and_why_are_kept_and_logged(as_hana, hana, knit_along, desk, clues):
    confirm(as_hana, desk, shown(as_hana, desk))
    changes = list(ScheduleChange.objects.all())
    assert [(c.number, c.kind, c.before_at, c.after_at) for c in changes] == [
        (2, "moved", NOON + 7 * DAY, NOON + 14 * DAY),
        (3, "moved", NOON + 14 * DAY, NOON + 21 * DAY),
    ]
    assert {(c.actor, c.reason, c.is_public, c.at) for c in changes} == {
        (hana.user, WHY, True, TODAY)
    }
    entry = AuditEntry.objects.filter(knit_along=knit_along).first()
    assert entry
    assert (entry.act, entry.actor, entry.detail["why"]) == ("moved a clue", hana.user, WHY)
    assert "The dye lot is late." in words(as_hana.get(f"/k/{knit_along.slug}/desk/log/"))


@pytest.mark.parametrize(
    ("sent", "expected"),
    [
        ({"rest": "no", "days": "1"}, [NOON, NOON + 8 * DAY, NOON + 14 * DAY]),
        ({"way": "-1", "days": "3"}, [NOON, NOON + 4 * DAY, NOON + 11 * DAY]),
        (
            {"days": "", "hours": "5"},
            [NOON, NOON + 7 * DAY + timedelta(hours=5), NOON + 14 * DAY + timedelta(hours=5)],
        ),
        (
            {"ask": "to", "local": "2027-03-09T18:00"},
            [NOON, datetime(2027, 3, 9, 18, tzinfo=UTC), datetime(2027, 3, 16, 18, tzinfo=UTC)],
        ),
        (
            {"ask": "repeat", "local": "2027-03-09T18:00", "cadence": "3", "rest": "no"},
            [NOON, datetime(2027, 3, 9, 18, tzinfo=UTC), datetime(2027, 3, 12, 18, tzinfo=UTC)],
        ),
    ],
)
def test_a_clue_or_the_rest_moves_by_a_span_to_a_time_or_to_a_rhythm(
    as_hana, knit_along, desk, clues, sent, expected
):
    confirm(as_hana, desk, shown(as_hana, desk, **sent))
    assert instants(knit_along) == expected


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        ({"days": "", "hours": ""}, "Give a number of days, of hours, or both."),
        ({"days": "400"}, "less than or equal to 366"),
        ({"ask": "to", "local": ""}, "Choose a date and a time."),
        ({"ask": "repeat", "local": "2027-03-09T18:00"}, "Give the days from one clue to the next"),
        (
            {"ask": "to", "local": "2027-02-01T18:00"},
            "Clue 2 would go out at a time that has passed",
        ),
        ({"rest": "no", "days": "30"}, "Clue 3 would go out before clue 2;"),
        ({"ask": "to", "local": "2027-03-08T12:00"}, "every clue stays where it is"),
    ],
)
def test_a_move_that_cannot_be_is_one_sentence(as_hana, knit_along, desk, clues, sent, sentence):
    before = instants(knit_along)
    page = shown(as_hana, desk, **sent)
    assert page.status_code == 422
    assert sentence in words(page)
    assert not PREVIEW.search(page.content.decode())
    assert instants(knit_along) == before


def test_a_reason_is_required_once_people_know_the_dates(as_hana, knit_along, desk, clues):
    before = instants(knit_along)
    page = confirm(as_hana, desk, shown(as_hana, desk), reason="  ", tells="on")
    assert page.status_code == 422
    assert "Say in a sentence why: people may have planned by these dates." in words(page)
    assert 'name="tells" aria-describedby="id_tells_helptext" id="id_tells" checked' in words(page)
    assert instants(knit_along) == before
    confirm(as_hana, desk, page)
    assert instants(knit_along) != before


def test_dates_that_nobody_knows_need_no_reason_and_are_told_to_nobody(db):
    knit_along = make_knit_along(is_public=False, sign_up_opens_at=TODAY + timedelta(seconds=1))
    hana = make_participant(knit_along, "Hana", Role.ORGANISER)
    make_clue(knit_along, 1)
    client, desk = signed_in(hana.user), f"/k/{knit_along.slug}/desk/clues/"
    page = shown(client, desk, number=1)
    assert "checked" not in words(page)[words(page).index('name="tells"') :][:120]
    confirm(client, desk, page, reason="")
    assert ScheduleChange.objects.get().is_public is False
    assert not ScheduleChange.objects.told().exists()
    assert not Notice.objects.exists()


def test_a_second_organiser_cannot_make_what_she_saw_before_the_first(
    as_hana, knit_along, desk, clues
):
    ivo = make_participant(knit_along, "Ivo", Role.ORGANISER)
    as_ivo = signed_in(ivo.user)
    hers, his = shown(as_hana, desk), shown(as_ivo, desk, days="1")
    confirm(as_hana, desk, hers)
    after_hers = instants(knit_along)
    page = confirm(as_ivo, desk, his, reason="A reason of Ivo")
    assert page.status_code == 409
    text = words(page)
    assert "nothing of yours was done yet: Hana moved a clue on 28 February, 12:00." in text
    assert "A reason of Ivo" in text
    assert "<strong>Tuesday 16 March 2027, 12:00</strong>" in text  # a day after hers
    assert instants(knit_along) == after_hers
    confirm(as_ivo, desk, page)
    assert instants(knit_along)[1] == after_hers[1] + DAY


@pytest.mark.parametrize("meanwhile", [{"is_held": True}, {"ready_at": None}, {"number": 9}])
def test_whatever_changed_meanwhile_makes_a_preview_stale(
    as_hana, knit_along, desk, clues, meanwhile
):
    page = shown(as_hana, desk)
    Clue.objects.filter(number=3).update(**meanwhile)
    assert confirm(as_hana, desk, page).status_code == 409
    assert not ScheduleChange.objects.exists()


def test_pressing_the_button_twice_moves_once(as_hana, knit_along, desk, clues):
    page = shown(as_hana, desk)
    confirm(as_hana, desk, page)
    assert confirm(as_hana, desk, page).status_code == 409
    assert instants(knit_along)[1] == NOON + 14 * DAY


def test_times_typed_on_a_stale_page_are_kept_and_not_taken_for_moves(
    as_hana, knit_along, desk, clues
):
    seen = fingerprint(list(knit_along.clues.all()))
    confirm(as_hana, desk, shown(as_hana, desk))
    typed = {
        "at_1": "2027-03-02T12:00",
        "at_2": "2027-03-08T12:00",
        "at_3": "2027-03-15T12:00",
        "seen": seen,
    }
    page = as_hana.post(desk, typed)
    assert page.status_code == 409
    assert 'value="2027-03-02T12:00"' in words(page)
    assert "Hana moved a clue" in words(page)


def test_a_clue_that_went_out_while_the_change_was_looked_at_stays(
    as_hana, knit_along, desk, clues, clock
):
    page = shown(as_hana, desk, number=1)
    clock.move_to(NOON - timedelta(seconds=1))
    assert confirm(as_hana, desk, page).status_code == 200
    page = shown(as_hana, desk, number=1)
    clock.move_to(NOON + 7 * DAY)
    response = confirm(as_hana, desk, page)
    assert response.status_code == 422
    assert "Clue 1 is out already" in words(response)


@pytest.mark.parametrize("who", ["another organiser", "another knit-along", "nobody"])
def test_a_preview_counts_only_for_whom_it_was_made(as_hana, hana, knit_along, desk, clues, who):
    page = shown(as_hana, desk)
    token, client = token_of(page), as_hana
    if who == "another organiser":
        client = signed_in(make_participant(knit_along, "Ivo", Role.ORGANISER).user)
    elif who == "another knit-along":
        other = make_knit_along()
        make_participant(other, user=hana.user, role=Role.ORGANISER)
        desk = f"/k/{other.slug}/desk/clues/"
    else:
        token = token[:-1] + ("A" if token[-1] != "A" else "B")
    response = client.post(f"{desk}change/", {"preview": token, "reason": WHY})
    assert response.status_code == 422
    assert "That page was not made for you here" in words(response)
    assert not ScheduleChange.objects.exists()


def test_a_preview_of_an_earlier_version_of_the_site_is_void(
    as_hana, hana, knit_along, desk, clues
):
    content = {"ka": knit_along.pk, "by": hana.user_id, "seen": "", "change": {"verb": "shift"}}
    token = signing.dumps(content, salt=SALT)
    response = as_hana.post(f"{desk}change/", {"preview": token, "reason": WHY})
    assert response.status_code == 422
    assert "That page was not made for you here" in words(response)


def test_holding_and_letting_go_are_shown_and_logged_with_why(as_hana, knit_along, desk, clues):
    page = as_hana.get(f"{desk}2/hold/")
    assert "waits until you let it go" in words(page)
    confirm(as_hana, desk, page)
    assert Clue.objects.get(number=2).is_held
    confirm(as_hana, desk, as_hana.get(f"{desk}2/hold/?held=no"))
    assert not Clue.objects.get(number=2).is_held
    assert [c.kind for c in ScheduleChange.objects.all()] == ["held", "let-go"]
    assert as_hana.get(f"{desk}2/hold/?held=no").status_code == 422


def test_a_removed_clue_leaves_its_trace(as_hana, knit_along, desk, clues):
    key = clues[1].pk
    confirm(as_hana, desk, as_hana.get(f"{desk}2/remove/"))
    gone, renumbered = ScheduleChange.objects.all()
    assert (gone.kind, gone.clue, gone.clue_key, gone.after_at) == ("removed", None, key, None)
    assert (renumbered.kind, renumbered.number) == ("renumbered", 3)


def test_the_note_on_the_clocks_is_in_the_preview(as_hana, knit_along, desk, clues):
    text = words(shown(as_hana, desk, days="14"))
    assert "Clocks go forward on 28 March" in text
    assert "6 days 23 hours after the one before" in text


def test_the_preview_shows_the_clocks_of_those_abroad(as_hana, knit_along, desk, clues):
    for name in ("Rin", "Ayu"):
        person = make_participant(knit_along, name)
        User.objects.filter(pk=person.user_id).update(zone="Asia/Tokyo")
    text = words(shown(as_hana, desk))
    assert "Monday 15 March 2027, 21:00 (Asia/Tokyo): 2 people" in text


def test_everybody_who_wants_mail_is_told_on_their_own_clocks(
    as_hana, knit_along, desk, clues, mailoutbox
):
    rin = make_participant(knit_along, "Rin")
    User.objects.filter(pk=rin.user_id).update(zone="Asia/Tokyo")
    make_participant(knit_along, "Shy", wants_notices=False)
    page = confirm(as_hana, desk, shown(as_hana, desk), tells="on")
    assert "2 mails are on their way, mail to hosts counted in." in words(page)
    sweep(clock=lambda: TODAY)
    told = {message.to[0]: message for message in mail.outbox}
    assert set(told) == {
        rin.user.email,
        *User.objects.filter(name="Hana").values_list("email", flat=True),
    }
    message = told[rin.user.email]
    assert message.subject == "Clue 2 and others move"
    assert (
        "Clue 2 moves from Monday 8 March 2027, 21:00 (Monday 8 March, 12:00 in Europe/Lisbon) to "
        "Monday 15 March 2027, 21:00 (Monday 15 March, 12:00 in Europe/Lisbon)."
    ) in " ".join(message.body.split())
    assert f"Why: {WHY}" in message.body
    assert "Clue title" not in message.body


def test_without_the_tick_nobody_is_mailed(as_hana, knit_along, desk, clues):
    confirm(as_hana, desk, shown(as_hana, desk))
    assert not Notice.objects.exists()


def test_a_change_that_fails_leaves_nothing(hana, knit_along, clues, monkeypatch):
    def fail(*arguments, **given):
        raise RuntimeError("the power went")

    before = instants(knit_along)
    monkeypatch.setattr("schedule.actions.change.queue_messages", fail)
    with pytest.raises(RuntimeError):
        make_change(
            knit_along, Change(Ask.SHIFT, 1, rest=True, days=1), by=hana.user, now=TODAY, tells=True
        )
    assert instants(knit_along) == before
    assert not ScheduleChange.objects.exists()
    assert not AuditEntry.objects.filter(act="moved a clue").exists()


def test_a_plan_says_nothing_of_clues_that_stay(knit_along, clues):
    plan = plan_change(knit_along, clues, Change(Ask.SHIFT, 3, days=1), now=TODAY)
    assert [line.clue.number for line in plan.lines] == [3]
