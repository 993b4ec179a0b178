"""The dry run: every registered palette against a clue, as each of them alone, and its pages."""

import random

import pytest

from kal.models import Role, User
from palettes.actions import register_palette
from palettes.audits import fabric_of, needs_of
from palettes.colour.letters import assess, plan_letters
from palettes.models import RegisteredYarn
from schedule.actions.letters import choose_letters, open_plan
from schedule.dry_run import dry_run
from schedule.models import Meeting
from tests.builders import (
    NOON,
    make_clue,
    make_meeting,
    make_participant,
    make_registration,
)
from tests.conftest import signed_in

pytestmark = pytest.mark.usefixtures("noon")

LEVELS = (20, 24, 60, 75, 92)  # A and B are hard to tell apart


@pytest.fixture
def pattern(knit_along):
    first, second = make_clue(knit_along, 1), make_clue(knit_along, 2)
    make_meeting(first, "AB", technique="two-row stripes")
    make_meeting(second, "CD")
    make_meeting(second, "AE", "close")
    return first, second


@pytest.fixture
def crowd(knit_along):
    """Twelve palettes of greys, every third of them one yarn richer than there are letters."""
    dice = random.Random(3)
    registrations = [
        make_registration(
            make_participant(knit_along, f"Knitter{n}"),
            [dice.uniform(10, 95) for _ in range(5 + (n % 3 == 0))],
        )
        if n % 3
        else richer(knit_along, n, dice)
        for n in range(12)
    ]
    knit_along.needs.filter(letter="A").update(grams=80, metres=320)
    for yarn in RegisteredYarn.objects.order_by("pk"):
        yarn.balls = dice.choice(["0.5", "1", "2", "2.3"])
        yarn.put_up_metres = dice.choice([None, 200])
        yarn.save()
    return registrations


def richer(knit_along, number, dice):
    person = make_participant(knit_along, f"Knitter{number}")
    person.knit_along.colour_count = 6
    registration = make_registration(person, [dice.uniform(10, 95) for _ in range(6)])
    person.knit_along.colour_count = 5
    return registration


def address(knit_along, *parts):
    return "/".join(["/k", knit_along.slug, "desk/dry-run", *map(str, parts), ""])


def outcomes(knit_along, registration, order, clue=None):
    meetings = Meeting.objects.in_newest_revisions(knit_along)
    here = [m.as_meeting() for m in meetings if clue is None or m.clue.number == clue]
    swatches = [yarn.swatch() for yarn in registration.chosen]
    return assess(swatches, here, order, fabric_of(knit_along)).outcomes


@pytest.mark.parametrize("clue", [None, 1, 2])
@pytest.mark.parametrize("as_if_planned", [True, False])
def test_each_palette_comes_out_as_it_would_alone(knit_along, pattern, crowd, clue, as_if_planned):
    run = dry_run(knit_along, now=NOON, clue=clue, as_if_planned=as_if_planned)
    assert sorted(run.registrations.tolist()) == sorted(one.pk for one in crowd)
    meetings = [m.as_meeting() for m in Meeting.objects.in_newest_revisions(knit_along)]
    moved = 0
    for row, key in enumerate(run.registrations.tolist()):
        registration = next(one for one in crowd if one.pk == key)
        order = tuple(range(5))
        if as_if_planned:
            swatches = [yarn.swatch() for yarn in registration.chosen]
            fabric = fabric_of(knit_along)
            needs = needs_of(knit_along)
            plan = plan_letters(swatches, meetings, letters=5, fabric=fabric, needs=needs)
            order = plan.best.yarns
            moved += order != plan_letters(swatches, meetings, letters=5, fabric=fabric).best.yarns
        assert tuple(run.orders[row]) == order
        alone = outcomes(knit_along, registration, order, clue)
        assert run.margins[row].tolist() == pytest.approx([one.margin for one in alone], abs=1e-9)
    assert moved or not as_if_planned, "else amounts decided nothing here"


def test_whoever_keeps_letters_is_tried_with_those(knit_along, hana, kit, pattern):
    registration = make_registration(kit, LEVELS)
    open_plan(knit_along, at=NOON, by=hana.user, now=NOON)
    assert dry_run(knit_along, now=NOON).unread.tolist() == [False]
    choose_letters(kit, range(5), now=NOON)
    run = dry_run(knit_along, now=NOON)
    assert run.orders.tolist() == [[0, 1, 2, 3, 4]]
    assert run.unread.tolist() == [True]
    assert run.chosen == 1
    assert run.own_swaps.keys() == {registration.pk}


def test_letters_kept_for_the_same_colours_still_count_and_for_others_not(
    knit_along, hana, kit, pattern
):
    make_registration(kit, LEVELS)
    open_plan(knit_along, at=NOON, by=hana.user, now=NOON)
    choose_letters(kit, range(5), now=NOON)
    kit.palette.yarns.update(balls=7)
    register_palette(kit.palette, now=NOON)
    assert dry_run(knit_along, now=NOON).chosen == 1
    kit.palette.yarns.filter(lab_l=20).update(lab_l=30)
    register_palette(kit.palette, now=NOON)
    run = dry_run(knit_along, now=NOON)
    assert (run.chosen, run.tried) == (0, 1)


def test_drafts_earlier_registrations_and_people_who_left_are_not_tried(knit_along, kit, pattern):
    make_registration(kit, LEVELS)
    current = make_registration(kit, (15, 35, 55, 75, 95))
    gone = make_participant(knit_along, "Gone")
    make_registration(gone, LEVELS)
    gone.left_at = NOON
    gone.save()
    assert dry_run(knit_along, now=NOON).registrations.tolist() == [current.pk]


def test_palettes_with_too_few_yarns_are_counted_and_not_tried(knit_along, kit, pattern):
    make_registration(kit, LEVELS)
    knit_along.colour_count = 6
    knit_along.save()
    run = dry_run(knit_along, now=NOON)
    assert (run.tried, run.too_few) == (0, 1)
    assert run.culprit is None
    assert run.worst_first().tolist() == []


def test_only_the_newest_revision_of_a_clue_counts(knit_along, kit, pattern):
    make_registration(kit, LEVELS)
    pattern[0].revisions.create(number=2, body="No stripes.", saved_at=NOON)
    assert dry_run(knit_along, now=NOON, clue=1).meetings == ()
    make_meeting(pattern[0], "DE", technique="slipped stitches")
    (meeting,) = dry_run(knit_along, now=NOON, clue=1).meetings
    assert meeting.technique == "slipped stitches"


def test_the_culprit_is_what_most_do_not_read_and_the_exchange_is_judged_by_all(
    knit_along, pattern
):
    for number in range(3):
        make_registration(make_participant(knit_along, f"Near{number}"), LEVELS)
    make_registration(make_participant(knit_along, "Marguerite"), (20, 50, 22, 75, 92))
    run = dry_run(knit_along, now=NOON, clue=1)
    assert run.culprit is not None
    assert (str(run.culprit.meeting), run.culprit.unread) == ("A and B", 3)
    by_letters = {swap.letters: (swap.mended, swap.broken) for swap in run.swaps}
    assert by_letters[("B", "C")] == (3, 1)
    assert by_letters[("B", "D")] == (3, 0)
    assert run.swaps[0].letters == ("A", "C")


class TestPages:
    """The organiser's pages, and who gets there."""

    def test_counts_and_people_are_shown(self, knit_along, kit, as_hana, pattern):
        make_registration(kit, LEVELS)
        make_registration(make_participant(knit_along, "Marguerite"), (15, 35, 55, 75, 95))
        html = as_hana.get(address(knit_along)).content.decode()
        assert "1 of 2 registered palettes has a meeting that does not read." in html
        assert "The culprit is A and B in clue 1: 1 do not read it." in html
        assert "A and B (Grey 20 beside Grey 24)" in html
        assert "Kit" in html
        assert "Marguerite" not in html
        html = as_hana.get(address(knit_along, 2)).content.decode()
        assert "All 2 registered palettes read everything." in html

    def test_grades_and_clues_are_named_in_the_reader_s_language(
        self, knit_along, kit, hana, as_hana, pattern
    ):
        make_registration(kit, LEVELS)
        User.objects.filter(pk=hana.user_id).update(language="de")
        page = as_hana.get(address(knit_along)).content.decode()
        assert "<td>brauchbar</td>" in page
        assert "<td>workable</td>" not in page
        assert "A-B, Clue 1" in page
        assert "ist quer durchs Zimmer zu erkennen" in page

    def test_it_can_be_tried_as_if_the_plan_were_open(self, knit_along, kit, as_hana, pattern):
        make_registration(kit, LEVELS)
        html = as_hana.get(address(knit_along), {"as_if_planned": "yes"}).content.decode()
        assert "This is tried as if the plan were open." in html
        assert "The one registered palette reads everything." in html

    def test_without_meetings_or_palettes_there_is_a_sentence(self, knit_along, as_hana):
        assert (
            "No clue says yet which letters meet"
            in as_hana.get(address(knit_along)).content.decode()
        )
        make_meeting(make_clue(knit_along, 1), "AB")
        assert "No palette is registered" in as_hana.get(address(knit_along)).content.decode()
        make_clue(knit_along, 2)
        assert "This clue does not say" in as_hana.get(address(knit_along, 2)).content.decode()

    def test_a_clue_that_is_not_there_is_not_found(self, knit_along, as_hana):
        for parts in ((9,), (9, "list"), (9, "notes")):
            assert as_hana.get(address(knit_along, *parts)).status_code == 404

    @pytest.mark.parametrize("role", [Role.PARTICIPANT, Role.MODERATOR, Role.CO_ORGANISER])
    def test_nobody_but_the_organiser_gets_there(self, knit_along, pattern, sam, role):
        person = make_participant(knit_along, "Moss", role)
        for client in (signed_in(person.user), signed_in(sam)):
            for parts in ((), (1,), ("list",), (1, "list"), ("notes",), (1, "notes")):
                assert client.get(address(knit_along, *parts)).status_code == 404
                assert client.post(address(knit_along, *parts)).status_code in (404, 405)

    def test_the_list_is_paged(self, knit_along, as_hana, pattern):
        for number in range(52):
            make_registration(make_participant(knit_along, f"Near{number:02}"), LEVELS)
        html = as_hana.get(address(knit_along)).content.decode()
        assert "Page 1 of 2" in html
        assert "Near00" in html
        assert "Near50" not in html
        assert "Near50" in as_hana.get(address(knit_along), {"page": 2}).content.decode()

    def test_as_many_queries_for_a_crowd_as_for_one(
        self, knit_along, as_hana, pattern, django_assert_num_queries
    ):
        for number in range(8):
            make_registration(make_participant(knit_along, f"Near{number:02}"), LEVELS)
        as_hana.get(address(knit_along))
        # session, user, membership; meetings, opening, yarns, choices; people, names, notes; clues
        with django_assert_num_queries(11):
            as_hana.get(address(knit_along))

    def test_the_list_can_be_saved_and_nothing_in_it_is_a_formula(
        self, knit_along, as_hana, pattern
    ):
        person = make_participant(knit_along, "=HYPERLINK(1)")
        make_registration(person, LEVELS)
        answer = as_hana.get(address(knit_along, 1, "list"))
        assert answer["Content-Type"] == "text/csv; charset=utf-8"
        assert f'"{knit_along.slug}-dry-run-clue-1.csv"' in answer["Content-Disposition"]
        heading, row = answer.content.decode("utf-8-sig").splitlines()
        assert heading == "name,mail address,pairs that do not read,worst margin,has a note"
        assert row.startswith("'=HYPERLINK(1),")
        assert "A and B (Grey 20 beside Grey 24)" in row
        assert row.endswith(",no")
