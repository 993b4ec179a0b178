"""The rows and stitches of a clue, for those who may read it, and of all for the organiser."""

from datetime import timedelta
from decimal import Decimal

import pytest
import time_machine

from schedule.desk.yarn import hours_figure
from schedule.models import ClueSection, CountedPart, LetterUse
from tests.builders import NOON, make_clue
from tests.pages import words

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOON + timedelta(hours=1), tick=False) as traveller:
        yield traveller


def count(clue, *parts):
    """Give the clue's newest revision a section with these parts."""
    section = ClueSection.objects.create(
        revision=clue.revisions.latest("number"), position=1, title="Body"
    )
    for position, fields in enumerate(parts, start=1):
        CountedPart.objects.create(section=section, position=position, **fields)


@pytest.fixture
def triangle(knit_along):
    """A triangle from a tab of three stitches at the neck."""
    clue = make_clue(knit_along, 1)
    count(
        clue,
        {"kind": "cast-on", "start": 3, "name": "Tab"},
        {"start": 3, "rows": 236, "changes": [4, 0], "letters": "AABB", "name": "Triangle"},
    )
    return clue


@pytest.fixture
def address(knit_along):
    return f"/k/{knit_along.slug}/clues/1/counts/"


def text_of(response, status=200):
    assert response.status_code == status
    return words(response)


def test_row_140_of_236_of_a_triangle_is_35_per_cent(as_kit, knit_along, address):
    """The published share of a triangle from nothing; its source is in core/test_stitches.py."""
    count(make_clue(knit_along, 1), {"start": 0, "rows": 236, "changes": [4, 0], "name": "All"})
    page = text_of(as_kit.get(address, {"row": 140}))
    assert "Row 140 of 236 is 35 % of the stitches of this clue." in page


def test_totals_are_the_arithmetic_series(as_kit, triangle, address):
    total = 3 + 2 * sum(range(7, 476, 4))
    assert f"236 rows, {total} stitches" in text_of(as_kit.get(address))


def test_the_cast_on_is_stitches_but_no_row(as_kit, triangle, address):
    page = text_of(as_kit.get(address, {"row": 0}))
    assert "Row 0 of 236 is 0 % of the stitches of this clue." in page
    assert "1 to 236" in page


@pytest.mark.parametrize("row", ["237", "-1", "many", "1e9"])
def test_a_row_the_clue_does_not_have_is_named_and_kept(as_kit, triangle, address, row):
    page = text_of(as_kit.get(address, {"row": row}), 422)
    assert "This clue has rows 1 to 236." in page
    assert f'value="{row}"' in page


def test_yarn_of_a_part_is_its_share_of_the_test_knit(as_kit, triangle, address):
    """By the part and altogether, to the tenth that the organiser gave."""
    LetterUse.objects.create(revision=triangle.revisions.get(), letter="A", grams=Decimal("50.5"))
    page = text_of(as_kit.get(address))
    assert page.count("A 50.5 g") == 2


def test_a_clue_without_counts_says_so(as_kit, knit_along, address):
    make_clue(knit_along, 1)
    assert "not entered as numbers" in text_of(as_kit.get(address, {"row": 3}), 422)
    assert "not entered as numbers" in text_of(as_kit.get(address))


def test_a_hidden_clue_has_no_counts(as_kit, as_sam, client, clock, triangle, address):
    assert as_sam.get(address).status_code == 404
    assert client.get(address).status_code == 302
    clock.move_to(NOON - timedelta(seconds=1))
    assert as_kit.get(address).status_code == 404
    assert as_kit.post(address).status_code == 405


def test_the_organiser_reads_both_numbers_of_a_contradiction_across_clues(
    as_hana, knit_along, triangle
):
    second = make_clue(knit_along, 2)
    count(
        second,
        {"start": 476, "rows": 4, "name": "Edge", "repeat_stitches": 6, "repeat_edge": 1},
    )
    page = text_of(as_hana.get(f"/k/{knit_along.slug}/desk/yarn/stitches/"))
    assert "Clue 1, Triangle ends with 475 stitches, but Clue 2, Edge starts with 476." in page
    assert "Clue 2, Edge has 476 stitches at row 1, which is not a multiple of 6 plus 1" in page


def test_nothing_is_said_across_a_clue_that_is_not_counted(as_hana, knit_along, triangle):
    make_clue(knit_along, 2)
    count(make_clue(knit_along, 3), {"start": 12, "rows": 4, "name": "Edge"})
    page = text_of(as_hana.get(f"/k/{knit_along.slug}/desk/yarn/stitches/"))
    assert "contradict" not in page


@pytest.mark.parametrize("part", ["", "stitches/", "pace/"])
def test_the_desk_is_the_organisers(as_kit, as_hana, knit_along, triangle, part):
    address = f"/k/{knit_along.slug}/desk/yarn/{part}"
    assert as_kit.get(address).status_code == 404
    assert as_hana.get(address).status_code == 200


def test_the_desk_of_stitches_takes_as_many_queries_for_more_clues(
    as_hana, knit_along, triangle, django_assert_num_queries
):
    address = f"/k/{knit_along.slug}/desk/yarn/stitches/"
    as_hana.get(address)
    for number in range(2, 6):
        count(make_clue(knit_along, number), {"start": 475, "rows": 2, "name": f"Edge {number}"})
    with django_assert_num_queries(5):
        as_hana.get(address)


def test_a_steep_week_is_named_with_both_numbers(as_hana, knit_along):
    """19 hours after 4, at 25 stitches a minute."""
    count(make_clue(knit_along, 1), {"start": 60, "rows": 100, "name": "Small"})
    count(make_clue(knit_along, 2), {"start": 285, "rows": 100, "name": "Large"})
    page = text_of(as_hana.get(f"/k/{knit_along.slug}/desk/yarn/pace/"))
    assert "Clue 2 asks for 19 hours a week after 4" in page
    assert 'class="bars"' in page
    assert 'class="span"' in page


def test_hours_are_rounded_and_not_cut_off(knit_along):
    """5970 stitches in a week take 3.98 hours at 25 a minute."""
    count(make_clue(knit_along, 1), {"start": 597, "rows": 10, "name": "Body"})
    count(make_clue(knit_along, 2), {"start": 60, "rows": 100, "name": "Edge"})
    figure = hours_figure(knit_along, NOON)
    assert [row[1] for row in figure.rows] == ["4.0", "4.0"]
