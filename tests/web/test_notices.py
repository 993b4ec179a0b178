"""Notices against a real mail server on loopback: each told once, nobody forgotten."""

import json
from datetime import timedelta
from email.message import EmailMessage
from io import StringIO

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from kal.models import Participant, Role
from schedule.actions import Draft, mark_ready, save_clue
from schedule.models import Clue, Notice
from schedule.notices.claims import BACK_OFF, CLAIM_FOR, MOST_ATTEMPTS, claim_batch
from schedule.notices.ledger import announce_clue
from schedule.notices.sweep import sweep
from schedule.tasks import sweep_notices
from tests.builders import NOON, make_clue, make_participant, make_user
from tests.smtp_sink import running_sink

SECOND = timedelta(seconds=1)


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOON, tick=False) as traveller:
        yield traveller


@pytest.fixture
def sink(settings):
    with running_sink() as sink:
        settings.BASE_URL = "https://knits.example"
        settings.MAIL_CONNECTIONS = 1  # so that mails come in the order of the ledger
        settings.MAILERS = {
            "default": {
                "BACKEND": "schedule.notices.smtp.EmailBackend",
                "OPTIONS": {"host": "127.0.0.1", "port": sink.port, "timeout": 5},
            }
        }
        yield sink


@pytest.fixture
def crowd(knit_along):
    return [make_participant(knit_along, f"Kit{number}") for number in range(5)]


def swept():
    return sweep(clock=timezone.now)


def addresses(crowd):
    return [participant.user.email for participant in crowd]


def test_each_participant_is_told_once_though_the_sweep_runs_twice(sink, knit_along, crowd):
    make_clue(knit_along)
    assert (swept().sent, swept().sent) == (5, 0)
    assert sink.told() == addresses(crowd)
    assert sink.connections == 1


def test_nobody_is_told_a_second_before_the_instant(sink, knit_along, crowd, clock):
    clue = make_clue(knit_along)
    clock.move_to(NOON - SECOND)
    assert swept().announced == 0
    assert not Notice.objects.exists()
    clock.move_to(NOON)
    assert swept().sent == 5
    clue.refresh_from_db()
    assert clue.announced_at == NOON


@pytest.mark.parametrize("state", [{"ready_at": None}, {"is_held": True}])
def test_nobody_is_told_of_a_clue_that_is_not_ready_or_held(sink, knit_along, crowd, state):
    make_clue(knit_along, **state)
    assert swept().sent == 0
    assert sink.mails == []


def test_a_row_written_too_soon_is_not_sent(sink, knit_along, kit, clock):
    clue = make_clue(knit_along)
    clock.move_to(NOON - SECOND)
    Notice.objects.create(
        participant=kit, clue=clue, kind="clue-out", mail_id="<a@b>", try_after=NOON - SECOND
    )
    assert swept().sent == 0


def test_the_mail_says_what_is_out_and_how_to_stop_it(sink, knit_along, kit):
    make_clue(knit_along, title="Harbour wall")
    swept()
    (mail,) = sink.mails
    assert mail["Subject"] == "Clue 1 is out: Harbour wall"
    assert mail["Message-ID"].endswith("@knits.example>")
    link = f"https://knits.example/k/{knit_along.slug}/clues/1/"
    text, html = (mail.get_body((kind,)).get_content() for kind in ("plain", "html"))
    assert link in text
    assert f'href="{link}"' in html
    stop = mail["List-Unsubscribe"].strip("<>")
    assert stop.startswith(f"https://knits.example/k/{knit_along.slug}/unsubscribe/")
    assert stop in text
    assert stop in html
    assert mail["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"


def test_long_addresses_stay_whole_in_the_headers(sink, knit_along, kit):
    """A header that is folded inside an address, or coded, is of no use to a mail program."""
    knit_along.slug = "a-very-long-name-" * 3 + "shawl"
    knit_along.save()
    make_clue(knit_along)
    swept()
    lines = sink.raw[0].replace(b"\r\n ", b" ").split(b"\r\n")
    header = next(line for line in lines if line.startswith(b"List-Unsubscribe:"))
    assert b"=?" not in header
    assert b" " not in header.removeprefix(b"List-Unsubscribe:").strip()


def test_those_who_left_or_want_no_mail_get_none(sink, knit_along, crowd):
    make_clue(knit_along)
    Participant.objects.filter(pk=crowd[0].pk).update(left_at=NOON)
    Participant.objects.filter(pk=crowd[1].pk).update(wants_notices=False)
    crowd[2].user.is_active = False
    crowd[2].user.save()
    swept()
    assert sink.told() == addresses(crowd[3:])


def test_somebody_who_leaves_between_the_ledger_and_the_mail_gets_none(sink, knit_along, crowd):
    make_clue(knit_along)
    sink.answer = lambda mail: "451 later"
    swept()
    sink.answer = lambda mail: None
    Participant.objects.filter(pk=crowd[0].pk).update(left_at=NOON)
    with time_machine.travel(NOON + BACK_OFF[0], tick=False):
        assert swept().not_wanted == 1
    assert sink.told() == addresses(crowd[1:])


def test_somebody_who_joins_after_a_clue_came_out_is_mailed_the_next_one(
    sink, knit_along, kit, clock
):
    make_clue(knit_along, 1)
    make_clue(knit_along, 2)
    swept()
    late = make_participant(knit_along, "Late")
    swept()
    assert sink.told() == [kit.user.email]
    clock.move_to(NOON + timedelta(days=7))
    swept()
    assert sink.told()[1:] == [kit.user.email, late.user.email]


def test_a_refusal_is_tried_again_later_and_the_others_are_not_held_up(
    sink, knit_along, crowd, clock
):
    make_clue(knit_along)
    refused = addresses(crowd)[1]
    sink.answer = lambda mail: "451 try later" if mail["To"] == refused else None
    tally = swept()
    assert (tally.sent, tally.retrying) == (4, 1)
    assert swept().retrying == 0
    sink.answer = lambda mail: None
    clock.move_to(NOON + BACK_OFF[0])
    assert swept().sent == 1
    assert sorted(sink.told()) == sorted(addresses(crowd))


def test_a_dropped_connection_is_opened_anew_for_the_next(sink, knit_along, crowd, clock):
    make_clue(knit_along)
    dropped = addresses(crowd)[0]
    sink.answer = lambda mail: "drop" if mail["To"] == dropped else None
    tally = swept()
    assert (tally.sent, tally.retrying) == (4, 1)
    sink.answer = lambda mail: None
    clock.move_to(NOON + BACK_OFF[0])
    assert swept().sent == 1


def test_it_gives_up_after_six_attempts_and_keeps_the_reason(sink, knit_along, kit, clock):
    make_clue(knit_along)
    sink.answer = lambda mail: "550 no such mailbox"
    tallies = [swept()]
    for pause in BACK_OFF:
        clock.shift(pause)
        tallies.append(swept())
    assert [tally.retrying for tally in tallies] == [1, 1, 1, 1, 1, 0]
    assert tallies[-1].given_up == 1
    notice = Notice.objects.get()
    assert (notice.attempts, notice.gave_up_at) == (MOST_ATTEMPTS, timezone.now())
    assert "no such mailbox" in notice.error
    clock.shift(timedelta(days=9))
    assert swept().counts == dict.fromkeys(tallies[0].counts, 0)


def test_a_server_that_is_away_uses_up_no_attempt(settings, knit_along, crowd, clock):
    with running_sink() as gone:
        port = gone.port
    settings.MAILERS = {
        "default": {
            "BACKEND": "schedule.notices.smtp.EmailBackend",
            "OPTIONS": {"host": "127.0.0.1", "port": port, "timeout": 1},
        }
    }
    make_clue(knit_along)
    tally = swept()
    assert "refused" in tally.problem.lower()
    assert set(Notice.objects.values_list("attempts", "gave_up_at", "claimed_until")) == {
        (0, None, None)
    }


def test_a_crash_between_sending_and_recording_sends_again_with_the_same_id(
    sink, knit_along, kit, clock, monkeypatch
):
    """Once the claim of the stopped process has run out."""
    make_clue(knit_along)

    def crash(mail: EmailMessage) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr("schedule.notices.claims.mine", crash)
        with pytest.raises(KeyboardInterrupt):
            swept()
    assert len(sink.mails) == 1
    assert swept().sent == 0
    clock.shift(CLAIM_FOR)
    assert swept().sent == 1
    assert sink.mails[0]["Message-ID"] == sink.mails[1]["Message-ID"]


def test_what_one_process_has_claimed_another_leaves_alone(sink, knit_along, crowd, clock):
    make_clue(knit_along)
    sink.answer = lambda mail: "451 later"
    swept()
    sink.answer = lambda mail: None
    clock.shift(BACK_OFF[0])
    batch = claim_batch(timezone.now())
    assert len(batch) == 5
    assert claim_batch(timezone.now()) == []
    assert swept().sent == 0


def test_errata_are_told_once_each_to_those_who_opened_the_clue_as_it_was(
    sink, knit_along, hana, kit, as_kit, clock
):
    clue = make_clue(knit_along)
    later = make_participant(knit_along, "Later")
    swept()
    as_kit.get(f"/k/{knit_along.slug}/clues/1/")
    sink.mails.clear()
    for number, note in ((1, "Row 3 is purled."), (2, "Row 5 too.")):
        clock.shift(SECOND)
        draft = Draft("T", True, f"Text {number}", {}, frozenset(), note)
        save_clue(clue, draft, began_from=number, by=hana.user, now=timezone.now())
        swept()
        swept()
    kits = [mail for mail in sink.mails if mail["To"] == kit.user.email]
    assert [mail["Subject"] for mail in kits] == [f"Clue 1 was put right: {knit_along.title}"] * 2
    assert "Row 3 is purled." in kits[0].get_body(("plain",)).get_content()
    assert "Row 5 too." in kits[1].get_body(("html",)).get_content()
    assert kits[0]["Message-ID"] != kits[1]["Message-ID"]
    assert later.user.email not in sink.told()


def test_readying_a_clue_queues_a_sweep_for_its_instant(knit_along, hana, clock):
    clock.move_to(NOON - timedelta(days=1))
    clue = make_clue(knit_along, ready_at=None)
    mark_ready(clue, ready=True, by=hana.user, now=timezone.now())
    queued = DBTaskResult.objects.get()
    assert (queued.task_path, queued.run_after) == ("schedule.tasks.sweep_notices", NOON)


def test_the_workers_sweep_mails_and_queues_the_next_before_anything_can_fail(
    sink, knit_along, kit, monkeypatch
):
    make_clue(knit_along)
    sweeps = DBTaskResult.objects.filter(task_path=sweep_notices.module_path)
    assert sweep_notices.call()["sent"] == 1
    assert sweeps.get().run_after == NOON + timedelta(minutes=1)
    sweep_notices.call()
    assert sweeps.count() == 1
    DBTaskResult.objects.all().delete()
    monkeypatch.setattr("schedule.tasks.sweep", None)
    with pytest.raises(TypeError):
        sweep_notices.call()
    assert sweeps.count() == 1


@pytest.mark.django_db(transaction=True)
def test_the_task_worker_itself_runs_the_sweep(sink, knit_along, kit):
    make_clue(knit_along)
    call_command("send_notices", "--later")
    with time_machine.travel(NOON + timedelta(minutes=1), tick=False):
        call_command("db_worker", "--max-tasks=1", "--no-startup-delay", verbosity=0)
    assert sink.told() == [kit.user.email]


def test_the_command_does_the_same_without_a_worker(sink, knit_along, crowd):
    make_clue(knit_along)
    out = StringIO()
    call_command("send_notices", "--json", stdout=out)
    report = json.loads(out.getvalue())
    assert (report["announced"], report["sent"], report["waiting"]) == (5, 5, 0)
    out = StringIO()
    call_command("send_notices", stdout=out)
    assert out.getvalue() == "0 sent, 0 waiting.\n"


def test_the_command_says_when_the_server_is_away(settings, knit_along, kit):
    with running_sink() as gone:
        port = gone.port
    settings.MAILERS = {
        "default": {
            "BACKEND": "schedule.notices.smtp.EmailBackend",
            "OPTIONS": {"host": "127.0.0.1", "port": port, "timeout": 1},
        }
    }
    make_clue(knit_along)
    with pytest.raises(CommandError, match="The mail server cannot be reached") as refused:
        call_command("send_notices", stdout=StringIO())
    assert refused.value.returncode == 1


def test_a_lost_task_loses_no_mail(sink, knit_along, kit, clock):
    """What is owed follows from the clue's own row, whatever became of the queue."""
    make_clue(knit_along)
    DBTaskResult.objects.all().delete()
    clock.shift(timedelta(hours=5))
    assert swept().sent == 1


def test_roles_make_no_difference_to_mail(sink, knit_along):
    people = [make_participant(knit_along, role.label[:5], role) for role in Role]
    make_clue(knit_along)
    swept()
    assert len(sink.mails) == len(people)


def test_a_thousand_notices_are_written_in_few_statements(
    knit_along, django_assert_max_num_queries
):
    users = [make_user("Many") for _ in range(1000)]
    Participant.objects.bulk_create(Participant(user=user, knit_along=knit_along) for user in users)
    clue = make_clue(knit_along)
    with django_assert_max_num_queries(12):
        assert announce_clue(clue, now=NOON) == 1000
    assert Clue.objects.get().announced_at == NOON
