"""Families against the survey, the standard's names, and what anyone would say."""

import re
from pathlib import Path

import numpy as np
import pytest

from benchmarks.families_accuracy import agreement, choose
from benchmarks.families_fit import derive, rounded
from benchmarks.family_names import STANDARD, SURVEY, read_names
from palettes.colour.difference import delta_e_2000_pairs
from palettes.colour.errors import BadLab
from palettes.colour.families import (
    BORDER_WIDTH,
    FAMILIES,
    Family,
    families_of,
    family_of,
    name_families,
    name_two_families,
    shade_of,
    surroundings,
)
from palettes.colour.family_table import NEUTRAL_LIGHTNESS, TABLE
from palettes.colour.spaces import Lab, hex_to_lab

# Names and values from CSS Color Module Level 4, section 6.1; the families are everyday usage.
CSS_COLOURS = [
    ("red", "#ff0000", "red"),
    ("maroon", "#800000", "red"),
    ("crimson", "#dc143c", "red"),
    ("firebrick", "#b22222", "red"),
    ("pink", "#ffc0cb", "pink"),
    ("hotpink", "#ff69b4", "pink"),
    ("salmon", "#fa8072", "pink"),
    ("orange", "#ffa500", "orange"),
    ("darkorange", "#ff8c00", "orange"),
    ("yellow", "#ffff00", "yellow"),
    ("gold", "#ffd700", "yellow"),
    ("goldenrod", "#daa520", "yellow"),
    ("lime", "#00ff00", "green"),
    ("green", "#008000", "green"),
    ("olive", "#808000", "green"),
    ("darkgreen", "#006400", "green"),
    ("springgreen", "#00ff7f", "green"),
    ("teal", "#008080", "teal"),
    ("aqua", "#00ffff", "teal"),
    ("turquoise", "#40e0d0", "teal"),
    ("blue", "#0000ff", "blue"),
    ("navy", "#000080", "blue"),
    ("royalblue", "#4169e1", "blue"),
    ("skyblue", "#87ceeb", "blue"),
    ("midnightblue", "#191970", "blue"),
    ("purple", "#800080", "purple"),
    ("indigo", "#4b0082", "purple"),
    ("violet", "#ee82ee", "purple"),
    ("rebeccapurple", "#663399", "purple"),
    ("plum", "#dda0dd", "purple"),
    ("saddlebrown", "#8b4513", "brown"),
    ("sienna", "#a0522d", "brown"),
    ("tan", "#d2b48c", "brown"),
    ("white", "#ffffff", "neutral"),
    ("silver", "#c0c0c0", "neutral"),
    ("gray", "#808080", "neutral"),
    ("black", "#000000", "neutral"),
    ("beige", "#f5f5dc", "neutral"),
    ("ivory", "#fffff0", "neutral"),
    ("linen", "#faf0e6", "neutral"),
]


@pytest.mark.parametrize(("name", "hex_colour", "family"), CSS_COLOURS)
def test_names_css_colours_as_anyone_would(name, hex_colour, family):
    assert family_of(hex_to_lab(hex_colour)) == family, name


@pytest.mark.parametrize("light", np.linspace(0, 100, 41).tolist())
def test_every_grey_is_a_neutral(light):
    assert families_of(Lab(light, 0.0, 0.0)) == (Family.NEUTRAL,)


@pytest.mark.parametrize(
    ("hex_colour", "shade"),
    [
        ("#ffffff", "white"),
        ("#f4f4f6", "white"),
        ("#fffdd0", "cream"),
        ("#f5f5dc", "cream"),
        ("#b1a48b", "beige"),
        ("#c7bfa9", "beige"),
        ("#8d8c88", "grey"),
        ("#808080", "grey"),
        ("#343837", "grey"),
        ("#101010", "black"),
        ("#000000", "black"),
        ("#ff0000", "red"),
        ("#8b4513", "brown"),
    ],
)
def test_shade_is_a_plain_word(hex_colour, shade):
    assert shade_of(hex_to_lab(hex_colour)) == shade


@pytest.mark.parametrize("file", [SURVEY, STANDARD])
def test_nothing_that_the_lists_call_grey_is_a_beige(file):
    """The ISCC-NBS centroids and the xkcd survey: a beige is warmer than any grey they name."""
    named = read_names(file)
    greys = [
        shade_of(Lab(*lab))
        for name, lab in zip(named.names, named.labs.tolist(), strict=True)
        if name.split()[-1] in ("gray", "grey")
    ]
    assert len(greys) > 5
    assert "beige" not in greys


def test_survey_names_agree():
    """The figures docs/families.md gives for the open half of the survey, rounded down."""
    survey = read_names(SURVEY)
    named = name_families(survey.labs)
    assert np.mean(named == survey.families) >= 0.88
    assert np.mean(survey.mentioned[np.arange(len(named)), named]) >= 0.94


def test_standard_names_agree():
    """The figure docs/families.md gives for the open half of the centroids, rounded down."""
    standard = read_names(STANDARD)
    assert np.mean(name_families(standard.labs) == standard.families) >= 0.92


def test_what_one_list_teaches_holds_on_the_other():
    """Rows never seen: at least 82 % by the last word, 91 % by any, 88 % of the standard."""
    survey, standard = read_names(SURVEY), read_names(STANDARD)
    none = np.zeros(0, dtype=np.intp)
    from_standard = rounded(derive(choose(survey, none), standard))
    from_survey = rounded(derive(survey, choose(standard, none)))
    strict, any_word = agreement(survey, name_families(survey.labs, from_standard))
    assert strict >= 0.82
    assert any_word >= 0.91
    assert agreement(standard, name_families(standard.labs, from_survey))[0] >= 0.88


def test_refuses_what_is_no_colour():
    with pytest.raises(BadLab, match="L\\* is 120"):
        family_of(Lab(120.0, 0.0, 0.0))


def test_array_keeps_its_shape():
    labs = np.array([[hex_to_lab("#ff0000"), hex_to_lab("#0000ff")]] * 3)
    named = name_families(labs)
    assert named.shape == (3, 2)
    assert [FAMILIES[i] for i in named[0]] == [Family.RED, Family.BLUE]


def test_colour_near_a_border_has_both_families_nearer_first():
    tan, deep_tan = hex_to_lab("#d2b48c"), hex_to_lab("#8b4513")
    assert families_of(tan) == (Family.BROWN, Family.YELLOW)
    assert families_of(deep_tan) == (Family.BROWN,)


def test_surroundings_lie_at_the_asked_distance():
    labs = read_names(STANDARD).labs
    around = surroundings(labs, BORDER_WIDTH)
    distances = delta_e_2000_pairs(around, labs[:, np.newaxis, :])
    assert distances == pytest.approx(BORDER_WIDTH, abs=0.15)


def test_one_colour_and_many_agree():
    labs = read_names(STANDARD).labs
    first, second = name_two_families(labs)
    for lab, one, two in zip(labs, first, second, strict=True):
        expected = (FAMILIES[one],) if two < 0 else (FAMILIES[one], FAMILIES[two])
        assert families_of(Lab(*lab)) == expected


def test_docs_show_the_table_that_is_used():
    text = (Path(__file__).parent.parent.parent / "docs" / "families.md").read_text("utf-8")
    numbers = [[int(n) for n in re.findall(r"\d+", line)] for line in text.splitlines()]
    for start, end, *corners in TABLE.hue.astype(int).tolist():
        assert [*corners, start, end] in numbers
    for low, high, *corners in TABLE.lightness.astype(int).tolist():
        assert [low % 360, high, *corners] in numbers
    for light, limits in zip(NEUTRAL_LIGHTNESS, TABLE.neutral[:, 1:].T, strict=True):
        assert [int(light), *limits.astype(int).tolist()] in numbers
