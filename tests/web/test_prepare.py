"""What a participant reads before cast-on, in their own units and on their own clock."""

from datetime import timedelta

import pytest
import time_machine

from tests.builders import NOON, make_clue, make_palette, make_registration, make_yarn
from tests.conftest import signed_in
from tests.pages import words

DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def long_sessions(settings):
    """Sessions made today still hold at the dates these tests travel to."""
    settings.SESSION_COOKIE_AGE = 10 * 365 * 24 * 60 * 60


def get(client, knit_along, query: str = "", instant=NOON - DAY):
    with time_machine.travel(instant, tick=False):
        return client.get(f"/k/{knit_along.slug}/prepare/{query}")


@pytest.fixture
def as_far_kit(kit):
    """Kit, who reads in Toronto, in ounces and yards."""
    kit.user.zone, kit.user.units = "America/Toronto", "imperial"
    kit.user.save()
    return signed_in(kit.user)


def test_tells_the_needs_in_grams_and_metres(as_kit, kit):
    kit.knit_along.needs.filter(letter="C").update(grams=150, metres=600)
    page = words(get(as_kit, kit.knit_along))
    assert "<strong>C</strong> 150 g and 600 m" in page
    assert "<strong>A, B, D, E</strong> each 100 g and 400 m" in page


def test_tells_the_needs_in_ounces_and_yards(as_far_kit, kit):
    """400 m is 437.445… yards by the exact factor, 100 g is 3.527… ounces."""
    assert "each 3.5 oz and 438 yd" in words(get(as_far_kit, kit.knit_along))


def test_shows_the_schedule_on_both_clocks_and_no_titles(as_far_kit, kit):
    make_clue(kit.knit_along, title="Siren")
    page = words(get(as_far_kit, kit.knit_along))
    assert "Mon 1 Mar 2027, 07:00</time>" in page
    assert "(12:00 in Europe/Lisbon)" in page
    assert "Siren" not in page


@pytest.mark.parametrize(
    ("weight", "length", "answer"),
    [
        ("50", "200", "A, B, C, D, E: <strong>2 balls</strong> each"),
        ("100", "400", "A, B, C, D, E: <strong>1 ball</strong> each"),
        ("100", "399.9", "A, B, C, D, E: <strong>2 balls</strong> each"),  # metres decide
        ("33.3", "400", "A, B, C, D, E: <strong>4 balls</strong> each"),  # grams decide
    ],
)
def test_counts_the_balls_of_a_put_up(as_kit, kit, weight, length, answer):
    page = words(get(as_kit, kit.knit_along, f"?weight={weight}&length={length}"))
    assert answer in page


@pytest.mark.parametrize(
    ("weight", "length", "balls"),
    [("1.75", "219", "2 balls"), ("1.76", "219", "2 balls"), ("3.5", "437", "1 ball")],
)
def test_counts_the_balls_of_a_put_up_in_ounces_and_yards(as_far_kit, kit, weight, length, balls):
    """A band says 50 g as 1.75 or 1.76 oz, 100 g and 400 m as 3.5 oz and 437 yd."""
    page = words(get(as_far_kit, kit.knit_along, f"?weight={weight}&length={length}"))
    assert f"<strong>{balls}</strong>" in page


@pytest.mark.parametrize(
    ("query", "sentence"),
    [
        ("?weight=0&length=200", "A ball holds more than nothing; type what its band says."),
        ("?weight=-5&length=200", "A ball holds more than nothing; type what its band says."),
        ("?weight=50&length=", "Type what the ball band says."),
        ("?weight=x&length=200", "Type a number, like 50."),
        ("?weight=NaN&length=200", "Type a number, like 50."),
        ("?weight=1e9&length=200", "A ball holds at most 2000 here"),
    ],
)
def test_a_bad_put_up_is_one_sentence(as_kit, kit, query, sentence):
    response = get(as_kit, kit.knit_along, query)
    assert response.status_code == 422
    assert words(response).count(sentence) == 1


def test_ticks_off_what_is_done(as_kit, kit):
    def done() -> int:
        return words(get(as_kit, kit.knit_along)).count('class="is-done"')

    assert done() == 1
    palette = make_palette(kit)
    make_yarn(palette)
    assert done() == 2
    make_registration(kit)
    assert done() == 4


def test_cautions_defer_to_label_and_doctor(as_kit, kit):
    page = words(get(as_kit, kit.knit_along))
    assert "to see a doctor" in page
    assert "as the ball band says" in page
    assert "has ever troubled your skin or breath, read the label first" in page


def test_the_number_of_clues_costs_no_queries(as_kit, kit, django_assert_num_queries):
    for number in range(1, 8):
        make_clue(kit.knit_along, number)
    # Session, user, membership, yarns of palette and registration, whether letters are to be
    # kept, clues for the next step, needs, clues to list.
    with django_assert_num_queries(9):
        as_kit.get(f"/k/{kit.knit_along.slug}/prepare/")


def test_strangers_visitors_and_bad_addresses(as_sam, client, knit_along):
    assert get(as_sam, knit_along).status_code == 404
    assert as_sam.get("/k/nowhere/prepare/").status_code == 404
    assert get(client, knit_along).headers["Location"].startswith("/sign-in/")


def test_other_methods_are_refused(as_kit, kit):
    assert as_kit.post(f"/k/{kit.knit_along.slug}/prepare/").status_code == 405
