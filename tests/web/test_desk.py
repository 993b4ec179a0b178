"""The organiser's desk: counts, the palettes' switch and the log."""

from datetime import timedelta

import pytest
import time_machine

from kal.models import AuditEntry, JoinCode, KnitAlong, Role, User
from palettes.models import Kit, Registration
from schedule.models import Notice, Report
from tests.builders import (
    NOON,
    make_answer,
    make_clue,
    make_kit,
    make_knit_along,
    make_palette,
    make_participant,
    make_question,
    make_registration,
)
from tests.conftest import signed_in
from tests.pages import words

DAY = timedelta(days=1)
DESK_QUERIES = 25


@pytest.fixture(autouse=True)
def long_sessions(settings):
    """Sessions made today still hold at the dates these tests travel to."""
    settings.SESSION_COOKIE_AGE = 10 * 365 * 24 * 60 * 60


def desk(knit_along, rest: str = "") -> str:
    return f"/k/{knit_along.slug}/desk/{rest}"


def register(participant, level: float = 50) -> Registration:
    return Registration.objects.create(
        palette=make_palette(participant),
        knit_along=participant.knit_along,
        number=1,
        mean_lightness=level,
        registered_at=NOON,
    )


def test_counts_people_palettes_and_clues(as_hana, hana, kit):
    knit_along = hana.knit_along
    gone = make_participant(knit_along, "Gia", left_at=NOON)
    make_palette(make_participant(knit_along, "Otto"))
    register(kit)
    register(gone)
    make_clue(knit_along, 1)
    make_clue(knit_along, 2, ready_at=None)
    with time_machine.travel(NOON, tick=False):
        page = words(as_hana.get(desk(knit_along)))
    assert "2 people</a>" in page  # the host has no palette, so does not knit along
    assert "<dt>Registered</dt><dd><a href=" in page
    assert page.count("1 of 2</a>") == 2  # registered of those who knit, and clues that are out
    assert "<dt>Begun, not registered</dt><dd>1</dd>" in page
    assert "Next: clue 2" in page
    assert "not ready</a>" in page


def test_the_number_of_people_and_clues_costs_no_queries(as_hana, hana, django_assert_num_queries):
    def ask():
        # Session, user and membership; 5 of clues, 8 of their pre-flight and early readers,
        # 1 of people, 4 of palettes, 3 of the crowd, 2 of mail while none waits.
        with django_assert_num_queries(DESK_QUERIES):
            assert as_hana.get(desk(hana.knit_along)).status_code == 200

    with time_machine.travel(NOON - DAY, tick=False):
        make_clue(hana.knit_along, 1)
        ask()
        for number in range(2, 8):
            make_registration(make_participant(hana.knit_along, f"Knitter {number}"))
            make_clue(hana.knit_along, number)
        ask()


def test_a_host_is_counted_once_their_palette_is_begun(as_hana, hana, kit):
    knitting = hana.knit_along.participants.knitting()
    assert set(knitting) == {kit}
    assert "1 person</a>" in words(as_hana.get(desk(hana.knit_along)))
    make_palette(hana)
    assert set(knitting.all()) == {hana, kit}
    make_participant(hana.knit_along, "Mo", Role.MODERATOR)
    assert "3 people</a>" in words(as_hana.get(desk(hana.knit_along)))


def test_a_clue_that_nobody_reads_ahead_leads_to_the_people(as_hana, hana):
    make_clue(hana.knit_along, 1)
    with time_machine.travel(NOON - DAY, tick=False):
        page = words(as_hana.get(desk(hana.knit_along)))
        people = desk(hana.knit_along, "people/")
        assert f'<a href="{people}">no early readers yet</a>' in page
        make_participant(hana.knit_along, "Edda", Role.CO_ORGANISER)
        page = words(as_hana.get(desk(hana.knit_along)))
    assert "no early readers yet" not in page
    assert "Not signed off as it stands by Edda." in page


class TestTodos:
    def test_the_most_pressing_comes_first_and_says_how_long_there_is(self, as_hana, hana):
        make_clue(hana.knit_along, 1, ready_at=None)
        make_clue(hana.knit_along, 2, is_held=True, release_at=NOON - 3 * DAY)
        with time_machine.travel(NOON - 2 * DAY, tick=False):
            page = words(as_hana.get(desk(hana.knit_along)))
        late = page.index("Clue 2 is held back, and its instant has come.")
        assert late < page.index("Clue 1 goes out in 2 days and is not marked ready.")

    def test_a_clue_of_next_month_does_not_press(self, as_hana, hana):
        make_clue(hana.knit_along, 1, ready_at=None)
        with time_machine.travel(NOON - 30 * DAY, tick=False):
            page = words(as_hana.get(desk(hana.knit_along)))
        assert "Nothing presses today." in page

    def test_more_than_five_are_folded_away(self, as_hana, hana):
        for number in range(1, 8):
            make_clue(hana.knit_along, number, ready_at=None, release_at=NOON - number * DAY)
        with time_machine.travel(NOON, tick=False):
            page = words(as_hana.get(desk(hana.knit_along)))
        assert "and 2 more</summary>" in page
        assert (
            page.index("Clue 7 is late") < page.index("and 2 more") < page.index("Clue 1 is late")
        )

    def test_what_keeps_people_out(self, as_hana, hana):
        knit_along = hana.knit_along
        knit_along.is_public, knit_along.join_rule = False, KnitAlong.JoinRule.CODE
        knit_along.save()
        with time_machine.travel(NOON, tick=False):
            page = words(as_hana.get(desk(knit_along)))
            assert "Sign-up is open, and the page for visitors is hidden." in page
            assert "Sign-up is open, and no join code admits anybody." in page
            JoinCode.objects.create(knit_along=knit_along)
            assert "no join code admits" not in words(as_hana.get(desk(knit_along)))
        with time_machine.travel(knit_along.sign_up_closes_at, tick=False):
            assert "Sign-up is open" not in words(as_hana.get(desk(knit_along)))

    def test_who_has_no_palette_a_week_before_cast_on(self, as_hana, hana, kit):
        register(kit)
        make_participant(hana.knit_along, "Otto")
        said = "1 person has no registered palette"
        for before, is_said in ((8, False), (3, True), (-1, False)):
            with time_machine.travel(NOON - before * DAY, tick=False):
                assert (said in words(as_hana.get(desk(hana.knit_along)))) is is_said

    def test_mail_that_failed_or_waits_too_long(self, as_hana, hana, kit):
        clue = make_clue(hana.knit_along, 1)
        owed = {"participant": kit, "clue": clue, "kind": "clue-out", "try_after": NOON}
        notice = Notice.objects.create(mail_id="a@b", **owed)
        for hours, is_said in ((1, False), (3, True)):
            with time_machine.travel(NOON + timedelta(hours=hours), tick=False):
                page = words(as_hana.get(desk(hana.knit_along)))
            assert ("Mail has been waiting for 3 hours" in page) is is_said
        notice.gave_up_at = NOON
        notice.save()
        with time_machine.travel(NOON + DAY, tick=False):
            page = words(as_hana.get(desk(hana.knit_along)))
        assert "1 notice could not be delivered." in page
        assert "Mail has been waiting" not in page

    def test_what_the_crowd_waits_for(self, as_hana, hana, kit):
        clue = make_clue(hana.knit_along, 1)
        question = make_question(kit, clue)
        make_kit(hana.knit_along, state=Kit.State.PROPOSED, proposed_at=NOON)
        Report.objects.create(reporter=kit, question=question, reason="unkind", at=NOON)
        with time_machine.travel(NOON + 2 * DAY, tick=False):
            page = words(as_hana.get(desk(hana.knit_along)))
            assert "1 question waits for an answer." in page
            assert ">Answer the question</a>" in page
            assert "1 report waits to be looked at." in page
            assert ">Look at the report</a>" in page
            assert "1 kit waits to be approved or declined." in page
            make_answer(hana, question)
            Report.objects.update(outcome=Report.Outcome.DISMISSED)
            page = words(as_hana.get(desk(hana.knit_along)))
        assert "waits for an answer" not in page
        assert "waits to be looked at" not in page
        assert "<dt>Questions waiting</dt><dd><a" in page

    @pytest.mark.parametrize(
        ("language", "labels"),
        [
            ("en", ("Answer the questions", "Look at the reports")),
            ("de", ("Fragen beantworten", "Meldungen ansehen")),
        ],
    )
    def test_a_link_speaks_of_all_that_wait(self, as_hana, hana, kit, language, labels):
        clue = make_clue(hana.knit_along, 1)
        for _ in range(2):
            question = make_question(kit, clue)
            Report.objects.create(reporter=kit, question=question, reason="unkind", at=NOON)
        User.objects.filter(pk=hana.user_id).update(language=language)
        with time_machine.travel(NOON + 2 * DAY, tick=False):
            page = words(as_hana.get(desk(hana.knit_along)))
        for label in labels:
            assert f">{label}</a>" in page

    def test_what_waits_elsewhere_is_not_told_here(self, as_hana, hana):
        other = make_knit_along()
        make_question(make_participant(other), make_clue(other, 1))
        with time_machine.travel(NOON + DAY, tick=False):
            assert "waits for an answer" not in words(as_hana.get(desk(hana.knit_along)))

    def test_nothing_presses_in_an_archived_knit_along(self, as_hana, hana):
        make_clue(hana.knit_along, 1, ready_at=None)
        hana.knit_along.archived_at = NOON
        hana.knit_along.save()
        with time_machine.travel(NOON + DAY, tick=False):
            page = words(as_hana.get(desk(hana.knit_along)))
        assert "Nothing presses today." in page
        assert "Clue 1 is late" not in page

    def test_a_ready_clue_that_was_not_signed_off(self, as_hana, hana):
        make_participant(hana.knit_along, "Edda", Role.CO_ORGANISER)
        make_clue(hana.knit_along, 1)
        with time_machine.travel(NOON - DAY, tick=False):
            page = words(as_hana.get(desk(hana.knit_along)))
        assert "Clue 1 is marked ready. Not signed off as it stands by Edda." in page


def test_closing_and_opening_the_palettes(as_hana, hana):
    knit_along = hana.knit_along
    for choice, act in (("no", "closed the palettes"), ("yes", "opened the palettes")):
        for _ in range(2):
            response = as_hana.post(desk(knit_along, "palettes/"), {"open": choice})
            assert response.headers["Location"] == desk(knit_along)
        knit_along.refresh_from_db()
        assert (knit_along.palettes_closed_at is None) == (choice == "yes")
        assert [entry.act for entry in knit_along.audit_log.filter(act=act)] == [act]


def test_closed_palettes_show_since_when(as_hana, hana):
    hana.knit_along.palettes_closed_at = NOON
    hana.knit_along.save()
    with time_machine.travel(NOON, tick=False):
        page = words(as_hana.get(desk(hana.knit_along)))
    assert "Palettes are closed since" in page
    assert "Open them again" in page


class TestLog:
    def test_says_who_did_what_and_when(self, as_hana, hana):
        AuditEntry.objects.record(
            hana.knit_along,
            "changed a role",
            by=hana.user,
            at=NOON,
            before="participant",
            participant=7,
            after="moderator",
            person="<Kit>",
        )
        page = words(as_hana.get(desk(hana.knit_along, "log/")))
        assert "<strong>Hana</strong> changed a role" in page
        assert (
            "Mon 1 Mar 2027, 12:00; person: &lt;Kit&gt;; before: participant; after: moderator"
            in page
        )
        assert "participant: 7" not in page

    def test_an_act_outlives_whoever_did_it(self, as_hana, hana, kit):
        AuditEntry.objects.record(hana.knit_along, "made join codes", by=kit.user, at=NOON)
        kit.user.delete()
        assert "Somebody who has gone" in words(as_hana.get(desk(hana.knit_along, "log/")))

    def test_an_empty_log_says_so(self, as_hana, hana):
        assert "Nothing yet." in words(as_hana.get(desk(hana.knit_along, "log/")))

    def test_pages_take_the_same_queries(self, as_hana, hana, django_assert_num_queries):
        for _ in range(120):
            AuditEntry.objects.record(hana.knit_along, "moved a clue", by=hana.user, at=NOON)
        with django_assert_num_queries(5):  # session, user, membership, count, entries
            page = words(as_hana.get(desk(hana.knit_along, "log/")))
        assert "Page 1 of 2" in page

    def test_another_knit_along_s_acts_are_not_in_it(self, as_hana, hana):
        AuditEntry.objects.record(make_knit_along(), "moved a clue", by=hana.user, at=NOON)
        assert "moved a clue" not in words(as_hana.get(desk(hana.knit_along, "log/")))


@pytest.mark.parametrize("rest", ["", "log/"])
class TestWhoMayRead:
    @pytest.mark.parametrize("role", [Role.CO_ORGANISER, Role.MODERATOR, Role.PARTICIPANT])
    def test_nobody_but_an_organiser(self, knit_along, role, rest):
        client = signed_in(make_participant(knit_along, "Otto", role).user)
        assert client.get(desk(knit_along, rest)).status_code == 404

    def test_a_stranger_and_a_visitor(self, as_sam, client, knit_along, rest):
        assert as_sam.get(desk(knit_along, rest)).status_code == 404
        assert client.get(desk(knit_along, rest)).headers["Location"].startswith("/sign-in/")

    def test_only_reading(self, as_hana, hana, rest):
        assert as_hana.post(desk(hana.knit_along, rest)).status_code == 405

    def test_one_that_never_was(self, as_hana, rest):
        assert as_hana.get(f"/k/nowhere/desk/{rest}").status_code == 404


def test_the_switch_is_the_organiser_s_alone_and_posted(as_kit, as_hana, hana):
    assert as_kit.post(desk(hana.knit_along, "palettes/")).status_code == 404
    assert as_hana.get(desk(hana.knit_along, "palettes/")).status_code == 405
