"""The organiser's desk: counts, the palettes' switch and the log."""

from datetime import timedelta

import pytest
import time_machine

from kal.models import AuditEntry, Role
from palettes.models import Registration
from tests.builders import NOON, make_clue, make_knit_along, make_palette, make_participant
from tests.conftest import signed_in

DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def long_sessions(settings):
    """Sessions made today still hold at the dates these tests travel to."""
    settings.SESSION_COOKIE_AGE = 10 * 365 * 24 * 60 * 60


def words(response) -> str:
    return " ".join(response.content.decode().split())


def desk(knit_along, rest: str = "") -> str:
    return f"/k/{knit_along.slug}/desk/{rest}"


def test_counts_people_palettes_and_clues(as_hana, hana, kit):
    knit_along = hana.knit_along
    gone = make_participant(knit_along, "Gia", left_at=NOON)
    make_palette(make_participant(knit_along, "Otto"))
    for participant in (kit, gone):
        Registration.objects.create(
            palette=make_palette(participant),
            knit_along=knit_along,
            number=1,
            mean_lightness=50,
            registered_at=NOON,
        )
    make_clue(knit_along, 1)
    make_clue(knit_along, 2, ready_at=None)
    with time_machine.travel(NOON, tick=False):
        page = words(as_hana.get(desk(knit_along)))
    assert "3 people</a>" in page
    assert "1, and 2 begun in all" in page
    assert "1 of 2</a>" in page
    assert "Clue 2 is not marked ready; it goes out on" in page


def test_the_number_of_people_and_clues_costs_no_queries(as_hana, hana, django_assert_num_queries):
    for number in range(1, 8):
        make_participant(hana.knit_along, f"Knitter {number}")
        make_clue(hana.knit_along, number)
    # Session, user, membership, clues, joined, registered, started.
    with django_assert_num_queries(7):
        as_hana.get(desk(hana.knit_along))


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
