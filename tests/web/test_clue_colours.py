"""What to expect of one's own yarns in a clue that is out."""

import pytest

from kal.models import Role
from schedule.actions.letters import choose_letters, open_plan
from tests.builders import (
    NOON,
    make_clue,
    make_meeting,
    make_participant,
    make_registration,
)
from tests.conftest import signed_in

pytestmark = pytest.mark.usefixtures("noon")

LEVELS = (20, 24, 60, 75, 92)


@pytest.fixture
def pattern(knit_along):
    first, second = make_clue(knit_along, 1), make_clue(knit_along, 2)
    make_meeting(first, "AB", technique="two-row stripes")
    make_meeting(first, "CE", "close")
    make_meeting(second, "CD", "strong", technique="canarytechnique")
    return first, second


def address(knit_along, number=1):
    return f"/k/{knit_along.slug}/clues/{number}/colours/"


def test_each_meeting_of_the_clue_is_told_with_ones_own_pair(knit_along, kit, as_kit, pattern):
    make_registration(kit, LEVELS)
    html = as_kit.get(address(knit_along)).content.decode()
    assert "In 1 place your two yarns are closer to each other than the pattern asks for." in html
    assert "A and B: two-row stripes" in html
    assert "Grey 20 beside Grey 24" in html
    assert "lost" in html
    assert "expect a softer pattern here" in html
    assert "Grey 60 beside Grey 92" in html
    assert "in the order of your palette" in html


def test_a_hidden_clue_is_no_clue_and_counts_for_nothing(knit_along, kit, as_kit, pattern):
    make_registration(kit, LEVELS)
    assert as_kit.get(address(knit_along, 2)).status_code == 404
    before = as_kit.get(address(knit_along)).content.decode()
    assert "canary" not in before
    pattern[1].revision.meetings.all().delete()
    after = as_kit.get(address(knit_along)).content.decode()
    assert advice(after) == advice(before)


def advice(html):
    return html.partition("What would help")[2].partition("</main>")[0]


@pytest.mark.parametrize(
    ("role", "status"), [(Role.MODERATOR, 404), (Role.PARTICIPANT, 404), (Role.CO_ORGANISER, 200)]
)
def test_only_early_readers_see_a_clue_that_is_not_out(knit_along, pattern, role, status):
    person = make_participant(knit_along, "Moss", role)
    assert signed_in(person.user).get(address(knit_along, 2)).status_code == status


def test_strangers_are_kept_out(knit_along, as_sam, pattern):
    assert as_sam.get(address(knit_along)).status_code == 404


def test_an_exchange_of_letters_is_advised_where_it_helps(knit_along, kit, as_kit, pattern):
    make_registration(kit, LEVELS)
    html = as_kit.get(address(knit_along)).content.decode()
    assert "Exchange the yarns of" in html
    assert "That is for yarns you have not knitted with yet." in html


def test_a_spare_is_advised_where_it_helps(knit_along, kit, as_kit, pattern):
    make_registration(kit, (*LEVELS, 50), spares=1)
    html = as_kit.get(address(knit_along)).content.decode()
    assert "Take Grey 50 instead of Grey 24 as B." in html
    assert "Then everything you know of reads." in html


def test_where_nothing_helps_it_says_so(knit_along, kit, as_kit, pattern):
    make_registration(kit, (50, 50.5, 51, 51.5, 52))
    assert "A yarn clearly lighter or darker" in as_kit.get(address(knit_along)).content.decode()


def test_once_the_plan_is_open_it_gives_the_letters(knit_along, hana, kit, as_kit, pattern):
    make_registration(kit, LEVELS)
    open_plan(knit_along, at=NOON, by=hana.user, now=NOON)
    html = as_kit.get(address(knit_along)).content.decode()
    assert "By the letter plan." in html
    assert "Your yarns read well wherever two colours meet in this clue." in html
    choose_letters(kit, range(5), now=NOON)
    html = as_kit.get(address(knit_along)).content.decode()
    assert "By the letters you keep." in html
    assert "In 1 place" in html


def test_without_yarns_or_meetings_there_is_a_sentence(knit_along, kit, as_kit, pattern):
    assert (
        "fewer yarns than the pattern has colours"
        in as_kit.get(address(knit_along)).content.decode()
    )
    pattern[0].revision.meetings.all().delete()
    assert "No two colours meet in this clue" in as_kit.get(address(knit_along)).content.decode()


def test_the_clue_leads_there(knit_along, kit, as_kit, pattern):
    html = as_kit.get(f"/k/{knit_along.slug}/clues/1/").content.decode()
    assert f'href="{address(knit_along)}"' in html
