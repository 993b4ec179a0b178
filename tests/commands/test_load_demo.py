"""`manage.py load_demo`: what a newcomer finds, and that it is loaded once and only in a demo."""

import io
import json
from datetime import UTC, datetime, timedelta

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction
from django.db.models import Count
from django.test import override_settings
from django_tasks_db.models import DBTaskResult

from kal.demo import load
from kal.models import KnitAlong, Participant, Role, User
from palettes.models import GalleryEntry, Registration
from schedule.models import (
    Attachment,
    Clue,
    Notice,
    Opening,
    ReaderComment,
    Revision,
    ScheduleChange,
    SignOff,
)
from schedule.notices.sweep import sweep
from schedule.visibility import readable_clues

EVENING = datetime(2027, 3, 20, 18, 0, 20, tzinfo=UTC)
SWEEPS = DBTaskResult.objects

pytestmark = pytest.mark.django_db


def run(*arguments: str) -> str:
    out = io.StringIO()
    call_command("load_demo", "--now", EVENING.isoformat(), *arguments, stdout=out)
    return out.getvalue()


@pytest.fixture
def demo(settings):
    settings.DEMO = True


@pytest.fixture(scope="module")
def loaded_once(django_db_setup, django_db_blocker, tmp_path_factory):
    """The demo takes seconds to load, so the tests of this file share it and each rolls back."""
    files = override_settings(DEMO=True, MEDIA_ROOT=tmp_path_factory.mktemp("private"))
    with django_db_blocker.unblock(), files, transaction.atomic():
        yield json.loads(run("--json"))
        transaction.set_rollback(True)


@pytest.fixture
def loaded(loaded_once, demo):
    return loaded_once


def running() -> KnitAlong:
    return KnitAlong.objects.get(slug="lamps-along-the-quay")


def test_a_site_that_is_no_demo_is_left_alone(settings):
    settings.DEMO = False
    with pytest.raises(CommandError, match="This site is no demo, so nothing was loaded") as caught:
        run()
    assert caught.value.returncode == 2
    assert not User.objects.exists()


def test_a_moment_that_is_none_is_refused_in_one_line(demo):
    with pytest.raises(CommandError, match="--now is 'teatime'; write a moment like") as caught:
        call_command("load_demo", "--now", "teatime")
    assert caught.value.returncode == 2
    assert not User.objects.exists()


def test_there_is_one_knit_along_of_each_stage(loaded):
    assert {k["title"]: k["stage"] for k in loaded["knit_alongs"]} == {
        "Moths in the Hedge": "finished",
        "Lamps along the Quay": "running",
        "Kites over the Orchard": "preparing",
    }
    assert loaded["people"] == 63


def test_it_says_whom_to_sign_in_as_and_where_the_mail_is(loaded):
    for sign_in in loaded["sign_ins"]:
        assert User.objects.filter(email=sign_in["email"]).exists()
    assert loaded["mail_page"].endswith("/demo/mail/")
    assert "hana@knitters.example" in run()


def test_a_second_run_changes_nothing(loaded):
    before = sorted(Registration.objects.values_list("pk", "registered_at"))
    again = json.loads(run("--json"))
    assert (loaded["is_new"], again["is_new"]) == (True, False)
    assert {**again, "is_new": True} == loaded
    assert sorted(Registration.objects.values_list("pk", "registered_at")) == before


def test_two_sites_hold_the_same_crowd(loaded):
    first = everything_brought()
    delete_everything()
    run()
    assert everything_brought() == first


def everything_brought():
    return list(
        Registration.objects.order_by("pk", "yarns__position").values_list(
            "knit_along__slug",
            "palette__participant__user__email",
            "yarns__name",
            "yarns__lab_l",
            "yarns__balls",
            "registered_at",
        )
    )


def delete_everything():
    KnitAlong.objects.all().delete()
    User.objects.all().delete()


def test_a_load_that_fails_half_way_leaves_nothing(loaded, monkeypatch):
    def fail(*arguments, **keywords):
        raise RuntimeError("the power went")

    delete_everything()
    monkeypatch.setattr(load, "write_clues", fail)
    with pytest.raises(RuntimeError):
        run()
    assert not User.objects.exists()


def test_the_running_schedule_crosses_a_change_of_the_clocks_at_one_wall_time(loaded):
    knit_along = running()
    local = [clue.release_at.astimezone(knit_along.tz) for clue in knit_along.clues.all()]
    assert len({moment.utcoffset() for moment in local}) == 2
    assert len({moment.time() for moment in local}) == 1


def test_the_last_clue_was_moved_by_a_day_and_why_is_told(loaded):
    (change,) = ScheduleChange.objects.told()
    assert change.clue == running().clues.latest("number")
    assert change.after_at
    assert change.after_at - change.before_at in {timedelta(hours=hours) for hours in (23, 24, 25)}
    assert "harbour fair" in change.reason


def test_a_clue_is_due_in_minutes_and_is_readable_only_then(loaded):
    kit = Participant.objects.get(user__email="kit@knitters.example", knit_along=running())
    coming = running().clues.get(number=loaded["knit_alongs"][1]["coming_clue"])
    assert timedelta(minutes=3) < coming.release_at - EVENING < timedelta(minutes=6)
    just_before = coming.release_at - timedelta(seconds=1)
    assert coming not in readable_clues(kit, just_before)
    assert coming in readable_clues(kit, coming.release_at)


def test_the_first_clue_was_put_right_and_its_readers_were_told_once(loaded):
    (erratum,) = Revision.objects.errata()
    assert erratum.clue == running().clues.get(number=1)
    told = Notice.objects.filter(clue=erratum.clue, revision=erratum.number)
    assert 30 < told.count() <= Opening.objects.count()
    assert not told.filter(sent_at=None).exists()


def test_a_test_knitter_has_signed_off_and_asks_about_the_last_two(loaded):
    assert SignOff.objects.filter(revision__clue__knit_along=running()).exists()
    assert ReaderComment.objects.filter(revision__clue__knit_along=running()).count() == 2


def test_a_sweep_is_queued_for_the_coming_clue(loaded):
    coming = running().clues.get(number=loaded["knit_alongs"][1]["coming_clue"])
    assert SWEEPS.filter(run_after=coming.release_at, status="READY").exists()


def test_nobody_is_mailed_about_the_past_and_everyone_who_wants_about_the_next(loaded, mailoutbox):
    sweep(clock=lambda: EVENING)
    assert mailoutbox == []
    coming = running().clues.get(number=loaded["knit_alongs"][1]["coming_clue"])
    sweep(clock=lambda: coming.release_at)
    wanting = Participant.objects.wanting_notices().filter(knit_along=running())
    told = sorted(mail.to[0] for mail in mailoutbox)
    assert told == sorted(wanting.values_list("user__email", flat=True))
    assert len(told) > 40


def test_past_clues_have_their_notices_in_the_ledger(loaded):
    told = Clue.objects.out(EVENING).annotate(told=Count("notices")).values_list("told", flat=True)
    assert len(told) > 4
    assert min(told) > 20
    assert not Notice.objects.filter(sent_at=None).exists()


def test_each_written_clue_has_a_sheet_and_a_chart_described_in_words(loaded):
    written = Clue.objects.filter(ready_at__isnull=False)
    for clue in written:
        kinds = {file.kind: file for file in clue.attachments.all()}
        assert set(kinds) == {Attachment.Kind.PDF, Attachment.Kind.IMAGE}
        assert kinds[Attachment.Kind.IMAGE].alt.startswith("Chart of ")
    assert written.count() >= 4 + 4


def test_helpers_hold_their_roles_in_all_three(loaded):
    roles = Participant.objects.exclude(role=Role.PARTICIPANT).values_list("user__name", "role")
    assert sorted(roles) == sorted(
        3
        * [
            ("Hana", Role.ORGANISER),
            ("Edda", Role.CO_ORGANISER),
            ("Mossie", Role.MODERATOR),
        ]
    )


def test_the_gallery_has_palettes_but_not_of_those_who_are_shy(loaded):
    shy = Participant.objects.filter(knit_along=running(), shows_palette=False)
    assert shy.count() > 5
    shown = GalleryEntry.objects.shown_in(running())
    assert 40 < shown.count() < 60
    assert not shown.filter(participant__in=shy).exists()


def test_kit_has_a_palette_to_finish_in_the_one_that_prepares(loaded):
    kit = Participant.objects.get(
        user__email="kit@knitters.example", knit_along__slug="kites-over-the-orchard"
    )
    assert kit.palette.registration is None
    assert kit.palette.yarns.chosen().count() == 4
    assert kit.palette.yarns.count() >= 5


def test_palettes_are_closed_in_the_finished_one_alone(loaded):
    closed = KnitAlong.objects.exclude(palettes_closed_at=None)
    assert [knit_along.title for knit_along in closed] == ["Moths in the Hedge"]


def test_kit_has_yarns_to_choose_among_some_with_their_own_photo(loaded):
    kit = Participant.objects.get(
        user__email="kit@knitters.example", knit_along__slug="kites-over-the-orchard"
    )
    candidates = kit.palette.yarns.filter(place="candidate")
    assert candidates.count() >= 12
    assert sum(yarn.is_pictured for yarn in candidates) == 3
