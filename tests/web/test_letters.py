"""The page of one's letters: shut until the organiser opens it, then the plan and one's own."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from kal.models import AuditEntry, Role
from palettes.actions import move_yarn
from palettes.audits import fabric_of
from palettes.colour.letters import plan_letters
from schedule.actions.letters import open_plan
from schedule.models import LetterChoice, Meeting, PaletteNote, PlanOpening
from tests.builders import (
    NOON,
    make_clue,
    make_meeting,
    make_palette,
    make_participant,
    make_registration,
    make_yarn,
)
from tests.conftest import signed_in

pytestmark = pytest.mark.usefixtures("noon")

LEVELS = (20, 24, 60, 75, 92)  # the first two are hard to tell apart


@pytest.fixture
def pattern(knit_along):
    """Two clues: the first is out, the second hidden, and both have letters meet."""
    first, second = make_clue(knit_along, 1), make_clue(knit_along, 2)
    make_meeting(first, "AB", technique="two-row stripes")
    make_meeting(second, "CD", technique="canarytechnique")
    make_meeting(second, "AB", "strong", technique="canarystrand")
    return first, second


def address(knit_along):
    return f"/k/{knit_along.slug}/letters/"


def opened(knit_along, hana):
    open_plan(knit_along, at=NOON, by=hana.user, now=NOON)


def letters_of(html):
    """The yarns chosen in the page's fields, in the order of the letters."""
    return re.findall(r'<option value="\d" selected>([^<]+)</option>', html)


@pytest.mark.parametrize("role", [Role.PARTICIPANT, Role.MODERATOR, Role.CO_ORGANISER])
def test_nothing_of_the_meetings_is_told_before_the_plan_opens(knit_along, pattern, role):
    person = make_participant(knit_along, "Moss", role)
    make_registration(person, LEVELS)
    client = signed_in(person.user)
    before = client.get(address(knit_along)).content
    assert "when the organiser opens the letter plan" in before.decode()
    Meeting.objects.all().delete()
    assert without_tokens(client.get(address(knit_along)).content) == without_tokens(before)
    tried = client.get(address(knit_along), {"A": 1, "B": 0, "C": 2, "D": 3, "E": 4})
    assert without_tokens(tried.content) == without_tokens(before)


def without_tokens(content):
    return re.sub(rb'x-csrftoken": "[^"]+|csrfmiddlewaretoken" value="[^"]+', b"", content)


def test_nobody_keeps_letters_before_the_plan_opens(knit_along, kit, as_kit, pattern):
    make_registration(kit, LEVELS)
    answer = as_kit.post(address(knit_along), dict(zip("ABCDE", range(5), strict=True)))
    assert answer.status_code == 404
    assert not LetterChoice.objects.exists()


def test_strangers_and_visitors_are_kept_out(knit_along, hana, as_sam, pattern):
    opened(knit_along, hana)
    assert as_sam.get(address(knit_along)).status_code == 404
    assert as_sam.post(address(knit_along) + "reset/").status_code == 404
    assert Client().get(address(knit_along)).status_code == 302


def test_the_open_plan_is_the_best_assignment(knit_along, hana, kit, as_kit, pattern):
    registration = make_registration(kit, LEVELS)
    opened(knit_along, hana)
    meetings = [one.as_meeting() for one in Meeting.objects.in_newest_revisions(knit_along)]
    swatches = [yarn.swatch() for yarn in registration.chosen]
    best = plan_letters(swatches, meetings, fabric=fabric_of(knit_along)).best
    html = as_kit.get(address(knit_along)).content.decode()
    assert letters_of(html) == [registration.chosen[place].name for place in best.yarns]
    assert "The plan suggests these letters" in html
    assert "every one of them reads" in html


def test_a_hidden_clue_is_told_by_its_letters_alone(knit_along, hana, kit, as_kit, pattern):
    make_registration(kit, LEVELS)
    opened(knit_along, hana)
    html = as_kit.get(address(knit_along)).content.decode()
    assert "Clue 1: two-row stripes" in html
    assert "Clue 2" not in html
    assert "canary" not in html


def test_a_moderator_is_told_no_more(knit_along, hana, pattern):
    moderator = make_participant(knit_along, "Moss", Role.MODERATOR)
    make_registration(moderator, LEVELS)
    opened(knit_along, hana)
    assert "canary" not in signed_in(moderator.user).get(address(knit_along)).content.decode()


def test_the_opening_comes_by_the_clock(knit_along, hana, kit, as_kit, pattern):
    make_registration(kit, LEVELS)
    opened(knit_along, hana)
    with time_machine.travel(NOON - timedelta(seconds=1), tick=False):
        assert (
            "is told when the letter plan opens" in as_kit.get(address(knit_along)).content.decode()
        )
    with time_machine.travel(NOON, tick=False):
        assert "The plan suggests" in as_kit.get(address(knit_along)).content.decode()


def test_own_letters_are_tried_then_kept(knit_along, hana, kit, as_kit, pattern):
    make_registration(kit, LEVELS)
    opened(knit_along, hana)
    mine = dict(zip("ABCDE", range(5), strict=True))
    tried = as_kit.get(address(knit_along), mine).content.decode()
    assert "You are trying these letters; they are not kept yet." in tried
    assert "1 of 2 does not read with these letters." in tried
    assert "The plan does better:" in tried
    assert not LetterChoice.objects.exists()
    assert as_kit.post(address(knit_along), mine).status_code == 302
    html = as_kit.get(address(knit_along)).content.decode()
    assert letters_of(html) == [f"Grey {level}" for level in LEVELS]
    assert "These letters are yours." in html
    assert "does not read" in html


def test_letters_that_are_kept_outlive_a_change_of_the_pattern(
    knit_along, hana, kit, as_kit, pattern
):
    make_registration(kit, LEVELS)
    opened(knit_along, hana)
    before = letters_of(as_kit.get(address(knit_along)).content.decode())
    as_kit.post(
        address(knit_along),
        {letter: LEVELS.index(int(name[5:])) for letter, name in zip("ABCDE", before, strict=True)},
    )
    make_meeting(pattern[1], "CE", "strong")
    make_meeting(pattern[1], "DE", "strong")
    assert letters_of(as_kit.get(address(knit_along)).content.decode()) == before


def test_the_choice_can_be_forgotten(knit_along, hana, kit, as_kit, pattern):
    make_registration(kit, LEVELS)
    opened(knit_along, hana)
    as_kit.post(address(knit_along), dict(zip("ABCDE", range(5), strict=True)))
    as_kit.post(address(knit_along) + "reset/")
    assert not LetterChoice.objects.exists()
    assert "The plan suggests" in as_kit.get(address(knit_along)).content.decode()
    assert as_kit.get(address(knit_along) + "reset/").status_code == 405


def test_a_choice_stands_when_the_same_colours_are_registered_again(
    knit_along, hana, kit, as_kit, pattern
):
    registration = make_registration(kit, LEVELS)
    opened(knit_along, hana)
    as_kit.post(address(knit_along), dict(zip("ABCDE", range(5), strict=True)))
    yarn = kit.palette.yarns.first()
    yarn.balls = 9
    yarn.save()
    as_kit.post(f"/k/{knit_along.slug}/palette/register/")
    assert kit.palette.registration != registration
    assert "These letters are yours." in as_kit.get(address(knit_along)).content.decode()


def test_a_choice_for_other_yarns_is_asked_for_again(knit_along, hana, kit, as_kit, pattern):
    make_registration(kit, LEVELS)
    opened(knit_along, hana)
    as_kit.post(address(knit_along), dict(zip("ABCDE", range(5), strict=True)))
    move_yarn(kit.palette.yarns.first(), "down", now=NOON)
    as_kit.post(f"/k/{knit_along.slug}/palette/register/")
    html = as_kit.get(address(knit_along)).content.decode()
    assert "Your palette has changed since you chose your letters" in html
    assert "The plan suggests these letters" in html


def test_one_yarn_for_two_letters_is_refused_in_a_sentence(knit_along, hana, kit, as_kit, pattern):
    make_registration(kit, LEVELS)
    opened(knit_along, hana)
    answer = as_kit.post(address(knit_along), {"A": 0, "B": 1, "C": 0, "D": 3, "E": 4})
    assert answer.status_code == 422
    assert "Grey 20 is A already; give C a yarn of its own." in answer.content.decode()
    assert letters_of(answer.content.decode())[2] == "Grey 20"
    assert not LetterChoice.objects.exists()


@pytest.mark.parametrize("nonsense", ["9", "-1", "x", ""])
def test_a_yarn_that_is_not_there_is_refused(knit_along, hana, kit, as_kit, pattern, nonsense):
    make_registration(kit, LEVELS)
    opened(knit_along, hana)
    answer = as_kit.post(address(knit_along), {"A": nonsense, "B": 1, "C": 2, "D": 3, "E": 4})
    assert answer.status_code == 422
    assert not LetterChoice.objects.exists()


def test_a_draft_gets_a_plan_but_keeps_no_letters(knit_along, hana, kit, as_kit, pattern):
    palette = make_palette(kit)
    for position, level in enumerate(LEVELS):
        make_yarn(palette, place="chosen", position=position, lab_l=level, lab_a=0, lab_b=0)
    opened(knit_along, hana)
    html = as_kit.get(address(knit_along)).content.decode()
    assert "Your palette is a draft" in html
    assert "Keep these letters" not in html
    answer = as_kit.post(address(knit_along), dict(zip("ABCDE", range(5), strict=True)))
    assert answer.status_code == 422
    assert "Register your palette first" in answer.content.decode()


@pytest.mark.parametrize("has_palette", [True, False])
def test_fewer_yarns_than_letters_get_a_sentence(
    knit_along, hana, kit, as_kit, pattern, has_palette
):
    if has_palette:
        make_yarn(make_palette(kit), place="chosen")
    opened(knit_along, hana)
    html = as_kit.get(address(knit_along)).content.decode()
    assert "your palette has fewer yarns than that" in html


def test_more_yarns_than_letters_leave_one_out(knit_along, hana, kit, as_kit, pattern):
    make_registration(kit, LEVELS)
    knit_along.colour_count = 4
    knit_along.save()
    opened(knit_along, hana)
    html = as_kit.get(address(knit_along)).content.decode()
    assert len(letters_of(html)) == 4
    assert "every one of them reads" in html


def test_meetings_of_letters_that_the_pattern_no_longer_has_do_not_count(
    knit_along, hana, kit, as_kit, pattern
):
    make_registration(kit, LEVELS)
    knit_along.colour_count = 3
    knit_along.save()
    opened(knit_along, hana)
    html = as_kit.get(address(knit_along)).content.decode()
    assert html.count('<th scope="row" class="pair">') == 1


def test_without_meetings_the_palettes_order_is_kept(knit_along, hana, kit, as_kit):
    make_registration(kit, LEVELS)
    opened(knit_along, hana)
    html = as_kit.get(address(knit_along)).content.decode()
    assert letters_of(html) == [f"Grey {level}" for level in LEVELS]
    assert "any order is as good as another" in html


def test_ways_as_good_as_the_plan_are_counted(knit_along, hana, kit, as_kit, pattern):
    make_registration(kit, LEVELS)
    opened(knit_along, hana)
    assert "exactly as good. There are" in as_kit.get(address(knit_along)).content.decode()


def test_the_page_takes_few_queries(
    knit_along, hana, kit, as_kit, pattern, django_assert_num_queries
):
    make_registration(kit, LEVELS)
    opened(knit_along, hana)
    as_kit.get(address(knit_along))
    # session, user, membership; meetings, opening, palette, registration, its yarns, own choice;
    # what the letters take, the meetings whose clue may be named, and notes
    with django_assert_num_queries(12):
        as_kit.get(address(knit_along))


def test_a_note_is_read_on_the_page_of_letters(knit_along, hana, kit, as_kit):
    registration = make_registration(kit, LEVELS)
    PaletteNote.objects.create(
        registration=registration,
        participant=kit,
        pairs="AB",
        body="Two <greys> of yours",
        sent_at=NOON,
    )
    assert "Two &lt;greys&gt; of yours" in as_kit.get(address(knit_along)).content.decode()


def test_notes_come_as_a_part_to_the_palettes_page(knit_along, hana, kit, as_kit, as_hana):
    registration = make_registration(kit, LEVELS)
    asked = {"headers": {"HX-Request": "true"}}
    part = f"{address(knit_along)}notes/"
    assert f'hx-get="{part}"' in as_kit.get(f"/k/{knit_along.slug}/palette/").content.decode()
    assert as_kit.get(part, **asked).status_code == 204
    PaletteNote.objects.create(
        registration=registration, participant=kit, pairs="AB", body="Two greys", sent_at=NOON
    )
    html = as_kit.get(part, **asked).content.decode()
    assert "Two greys" in html
    assert "<html" not in html
    assert as_kit.get(part).url == address(knit_along)
    assert as_hana.get(part, **asked).status_code == 204


class TestOpeningIt:
    """The organiser opens the plan, at once or later, and closes it."""

    def desk(self, knit_along):
        return f"/k/{knit_along.slug}/desk/letters/"

    def test_at_once(self, knit_along, hana, as_hana, pattern):
        assert as_hana.get(self.desk(knit_along)).status_code == 200
        sent = {"at": "", "sure": "yes"}
        assert as_hana.post(self.desk(knit_along), sent).status_code == 302
        assert PlanOpening.objects.get().opens_at == NOON
        entry = AuditEntry.objects.get()
        assert (entry.act, entry.actor) == ("opened the letter plan", hana.user)

    @pytest.mark.parametrize("typed", ["", "2027-02-01T08:30"])
    def test_at_once_is_asked_about_first_with_what_the_plan_cannot_know(
        self, knit_along, as_hana, pattern, typed
    ):
        make_clue(knit_along, 3, body="Knit on.")
        make_clue(knit_along, 4, body="")
        page = as_hana.post(self.desk(knit_along), {"at": typed}).content.decode()
        assert not PlanOpening.objects.exists()
        assert "What has been seen cannot be unseen" in page
        assert "<dt>Clues that are not written yet</dt>\n      <dd>1 of 4</dd>" in page
        assert "<dt>Written, with no letters that meet</dt>\n      <dd>1</dd>" in page
        assert f'<input type="hidden" name="at" value="{typed}">' in page
        as_hana.post(self.desk(knit_along), {"at": typed, "sure": "yes"})
        assert PlanOpening.objects.get().is_open(NOON)

    @pytest.mark.parametrize("more", [0, 5])
    def test_any_number_of_clues_takes_as_many_queries(
        self, knit_along, as_hana, pattern, more, django_assert_num_queries
    ):
        for number in range(more):
            make_clue(knit_along, 3 + number)
        # Session, user, membership, opening; meetings, clues and those written, letters kept.
        with django_assert_num_queries(8):
            as_hana.get(self.desk(knit_along))

    def test_the_page_says_beforehand_that_it_is_for_good(self, knit_along, as_hana):
        page = as_hana.get(self.desk(knit_along)).content.decode()
        assert "What has been seen cannot be unseen" in page

    def test_at_an_instant_of_her_own_clock(self, knit_along, as_hana):
        knit_along.zone = "Pacific/Auckland"
        knit_along.save()
        as_hana.post(self.desk(knit_along), {"at": "2027-03-05T08:30"})
        assert f"{PlanOpening.objects.get().opens_at:%Y-%m-%d %H:%M}" == "2027-03-04 19:30"
        assert 'value="2027-03-05T08:30"' in as_hana.get(self.desk(knit_along)).content.decode()

    def test_at_a_time_that_never_comes(self, knit_along, as_hana):
        answer = as_hana.post(self.desk(knit_along), {"at": "2027-03-28T01:30"})
        assert answer.status_code == 422
        assert "does not exist in Europe/Lisbon" in answer.content.decode()
        assert not PlanOpening.objects.exists()

    def test_and_closes_it_and_what_people_chose_is_kept(
        self, knit_along, hana, kit, as_hana, as_kit, pattern
    ):
        make_registration(kit, LEVELS)
        opened(knit_along, hana)
        as_kit.post(address(knit_along), dict(zip("ABCDE", range(5), strict=True)))
        as_hana.post(self.desk(knit_along), {"close": "yes"})
        assert not PlanOpening.objects.exists()
        assert LetterChoice.objects.exists()
        assert AuditEntry.objects.latest("at", "pk").act == "closed the letter plan"
        assert "two-row stripes" not in as_kit.get(address(knit_along)).content.decode()

    @pytest.mark.parametrize("role", [Role.PARTICIPANT, Role.MODERATOR, Role.CO_ORGANISER])
    def test_nobody_else_finds_the_switch(self, knit_along, role):
        client = signed_in(make_participant(knit_along, "Moss", role).user)
        assert client.get(self.desk(knit_along)).status_code == 404
        assert client.post(self.desk(knit_along), {"at": ""}).status_code == 404
        assert not PlanOpening.objects.exists()


class TestAmounts:
    """What there is of a yarn counts in the plan, and what is short is said with what to buy."""

    @pytest.fixture
    def registration(self, knit_along, kit, hana, pattern):
        """One ball, of 50 g, of every yarn but the last, where A takes two."""
        registration = make_registration(kit, LEVELS)
        registration.yarns.update(balls=1)
        knit_along.needs.update(grams=50, metres=200)
        knit_along.needs.filter(letter="A").update(grams=80, metres=320)
        opened(knit_along, hana)
        return registration

    def test_the_plan_gives_a_letter_a_yarn_there_is_enough_of(
        self, knit_along, as_kit, registration
    ):
        registration.yarns.filter(name="Grey 60").update(balls=2)
        html = as_kit.get(address(knit_along)).content.decode()
        assert letters_of(html)[0] == "Grey 60"
        assert "Where yarn is short" not in html

    def test_where_none_suffices_the_contrast_stands_and_the_shortage_is_named(
        self, knit_along, as_kit, registration
    ):
        html = as_kit.get(address(knit_along)).content.decode()
        short = letters_of(html)[0]
        assert f"Not enough of {short} for colour A." in html
        assert "you are 30 g and 120 m short" in html
        assert "Get 1 more ball" in html
        assert "A ball can be bought, a contrast cannot" in html

    def test_ones_own_letters_stand_and_are_told_that_the_plan_needs_less(
        self, knit_along, kit, as_kit, registration
    ):
        registration.yarns.filter(name="Grey 60").update(balls=2)
        choice = dict(zip("ABCDE", (0, 2, 1, 3, 4), strict=True))
        as_kit.post(address(knit_along), choice)
        assert LetterChoice.objects.get(participant=kit).positions == (0, 2, 1, 3, 4)
        html = as_kit.get(address(knit_along)).content.decode()
        assert "Not enough of Grey 20 for colour A." in html
        assert "The plan needs no more than you have." in html
