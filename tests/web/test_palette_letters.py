"""A palette's own pages letter its yarns as the letter plan does, once that is open."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse

from palettes.actions import register_palette
from palettes.models import Yarn
from schedule.actions.letters import choose_letters, close_plan, open_plan
from tests.builders import NOON, make_clue, make_meeting, make_registration, make_yarn
from tests.pages import words
from tests.web.test_palette_card import words_of

pytestmark = pytest.mark.usefixtures("noon")

LEVELS = (20, 24, 60, 75, 92)  # the first two are hard to tell apart
CHOSEN = (4, 3, 2, 1, 0)


@pytest.fixture
def registration(knit_along, kit):
    """A and B have to be told apart well, which the palette's first two yarns are not."""
    make_meeting(make_clue(knit_along), "AB", "strong")
    return make_registration(kit, LEVELS)


@pytest.fixture
def is_open(knit_along, hana):
    open_plan(knit_along, at=NOON, by=hana.user, now=NOON)


def page(client, knit_along):
    return client.get(reverse("palettes:palette", args=[knit_along.slug])).content.decode()


def chosen_on(html):
    """Return the name of the yarn beside each letter of the list of chosen yarns."""
    yarn = r'class="yarn-letter">.*?</span>(\w)</span>.*?<strong[^>]*>(Grey \d+)<'
    return dict(re.findall(yarn, html, re.DOTALL))


def plan_on(client, knit_along):
    """Return the name of the yarn beside each letter of the page of one's letters."""
    html = client.get(reverse("schedule:letters", args=[knit_along.slug])).content.decode()
    names = re.findall(r'<option value="\d" selected>([^<]+)</option>', html)
    return dict(zip(knit_along.letters, names, strict=True))


def test_before_the_plan_opens_the_order_gives_the_letters(as_kit, knit_along, registration):
    html = page(as_kit, knit_along)
    assert chosen_on(html) == {
        letter: f"Grey {level}" for letter, level in zip("ABCDE", LEVELS, strict=True)
    }
    assert "whatever the order of the yarns" not in html


def test_an_open_plan_gives_them(as_kit, knit_along, registration, is_open):
    html = page(as_kit, knit_along)
    assert chosen_on(html) == plan_on(as_kit, knit_along)
    assert {chosen_on(html)["A"], chosen_on(html)["B"]} != {"Grey 20", "Grey 24"}
    assert "whatever the order of the yarns" in html
    assert "not by their order here" in html


def test_letters_of_ones_own_come_before_the_plan_and_outlive_its_closing(
    as_kit, kit, hana, knit_along, registration, is_open
):
    choose_letters(kit, CHOSEN, now=NOON)
    own = {letter: f"Grey {LEVELS[place]}" for letter, place in zip("ABCDE", CHOSEN, strict=True)}
    assert chosen_on(page(as_kit, knit_along)) == own
    close_plan(knit_along, by=hana.user, now=NOON)
    assert chosen_on(page(as_kit, knit_along)) == own


def test_what_a_letter_takes_is_asked_of_the_yarn_that_has_it(
    as_kit, kit, knit_along, registration, is_open
):
    knit_along.needs.filter(letter="A").update(grams=300, metres=1200)
    choose_letters(kit, CHOSEN, now=NOON)
    audit = (
        as_kit.get(reverse("palettes:palette", args=[knit_along.slug])).context["workspace"].audit
    )
    (short,) = [row for row in audit.quantities if row.is_short]
    assert (short.letter, short.yarn.name) == ("A", "Grey 92")
    assert {rung.letter: rung.yarn.name for rung in audit.rungs}["A"] == "Grey 92"
    assert any(
        {"A", "B"} == {pair.first_letter, pair.second_letter}
        and {"Grey 92", "Grey 75"} == {pair.first.name, pair.second.name}
        for pair in audit.pairs
    )


def test_a_draft_that_has_changed_is_lettered_as_it_would_be_once_registered(
    as_kit, kit, knit_along, registration, is_open
):
    Yarn.objects.filter(palette=kit.palette, name="Grey 24").update(place=Yarn.Place.CANDIDATE)
    make_yarn(kit.palette, name="Grey 33", lab_l=33, lab_a=0, lab_b=0, place="chosen", position=1)
    shown = chosen_on(page(as_kit, knit_along))
    register_palette(kit.palette, now=NOON)
    assert shown == plan_on(as_kit, knit_along)
    assert "Grey 33" in shown.values()


def test_cards_and_what_was_registered_have_the_letters_too(
    as_kit, kit, knit_along, registration, is_open
):
    choose_letters(kit, CHOSEN, now=NOON)
    cards = (
        reverse("palettes:card", args=[knit_along.slug]),
        reverse("palettes:registration_card", args=[knit_along.slug, registration.number]),
    )
    for card in cards:
        found = re.findall(r"Grey (\d+)", words_of(as_kit.get(card)))
        assert found[:5] == ["92", "75", "60", "24", "20"]
    context = as_kit.get(
        reverse("palettes:registration", args=[knit_along.slug, registration.number])
    ).context
    assert {row.letter: row.yarn.name for row in context["audit"].quantities}["A"] == "Grey 92"


def test_pictures_and_sets_name_no_other_letters(as_kit, kit, knit_along, registration, is_open):
    choose_letters(kit, CHOSEN, now=NOON)
    links = as_kit.get(reverse("palettes:pictures", args=[knit_along.slug])).context["links"]
    assert {link.letters: (link.first.name, link.second.name) for link in links}["E D"] == (
        "Grey 20",
        "Grey 24",
    )
    sets = as_kit.get(reverse("palettes:shortlist", args=[knit_along.slug])).context["sets"]
    assert {item.letter for row in sets for item in row.yarns} == {""}


def test_the_next_step_leads_to_the_letters_until_they_are_kept(
    as_kit, kit, knit_along, registration, is_open
):
    said = "keep your letters before you cast on"
    assert said in words(as_kit.get(reverse("kal:prepare", args=[knit_along.slug])))
    assert said in words(as_kit.get("/"))
    choose_letters(kit, CHOSEN, now=NOON)
    assert said not in words(as_kit.get(reverse("kal:prepare", args=[knit_along.slug])))


def test_whoever_has_had_a_second_clue_is_not_asked_again(
    as_kit, kit, knit_along, registration, is_open
):
    make_clue(knit_along, 2)
    said = "keep your letters before you cast on"
    with time_machine.travel(NOON + timedelta(days=30), tick=False):
        assert said not in words(as_kit.get(reverse("kal:prepare", args=[knit_along.slug])))
