"""The demo's people and what they bring."""

import random

from kal.demo.palettes import POOR, palette, recipe_for
from kal.demo.pattern import SHAWL
from kal.demo.people import crowd
from palettes.colour.difference import delta_e_2000
from palettes.colour.spaces import hex_to_lab

GRAMS = list(SHAWL.needs().values())
PLACES = range(60)


def brought(place):
    return palette(random.Random(place), place, GRAMS)


def labs(yarns):
    return [hex_to_lab(yarn.colour) for yarn in yarns]


def brought_by(recipe_name):
    return [brought(place) for place in PLACES if recipe_for(place).__name__ == recipe_name]


def test_sixty_people_have_addresses_of_their_own_that_reach_nobody():
    people = crowd(random.Random(7))
    assert len({person.email for person in people}) == 60
    assert all(person.email.endswith(".example") for person in people)
    assert people == crowd(random.Random(7))


def test_a_palette_is_the_same_each_time_and_has_a_yarn_for_each_letter():
    for place in PLACES:
        yarns = brought(place)
        assert yarns == brought(place)
        assert len({yarn.name for yarn in yarns}) == len(GRAMS)


def test_every_fourth_palette_is_poor_in_one_of_the_ways():
    poor = [place for place in PLACES if recipe_for(place) in POOR]
    assert len(poor) == 15
    assert {recipe_for(place) for place in poor} == set(POOR)


def test_close_darks_are_dark_and_close():
    for yarns in brought_by("two_close_darks"):
        first, second = sorted(labs(yarns))[:2]
        assert max(first.l, second.l) < 30
        assert delta_e_2000(first, second) < 8


def test_the_busy_palette_has_no_calm_yarn():
    for yarns in brought_by("all_busy"):
        assert {yarn.dye_style for yarn in yarns} <= {"speckled", "variegated"}


def test_the_dark_palette_has_no_light_yarn():
    for yarns in brought_by("no_light"):
        assert max(lab.l for lab in labs(yarns)) < 55


def test_the_grey_palette_differs_in_hue_alone():
    for yarns in brought_by("all_one_grey"):
        lightnesses = [lab.l for lab in labs(yarns)]
        assert max(lightnesses) - min(lightnesses) < 12


def test_one_in_nine_is_short_of_one_yarn_and_the_others_of_none():
    for place in PLACES:
        short = [
            yarn.balls * yarn.base.grams < need
            for yarn, need in zip(brought(place), GRAMS, strict=True)
        ]
        assert sum(short) == (place % 9 == 8)
