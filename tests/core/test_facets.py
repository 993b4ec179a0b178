"""What a palette is found by, against the audit's own functions and tables written out by hand."""

import pytest

from palettes.colour.contrast import GRADES, compare_all
from palettes.colour.facets import DYE_STYLES, bits, fold, read_facets
from palettes.colour.families import FAMILIES, families_of
from palettes.colour.fibre import KINDS
from palettes.colour.pair_matrix import left_of
from palettes.colour.spaces import Lab
from palettes.colour.swatch import Fabric, Swatch
from palettes.models.yarn_facts import DyeStyle

RED, BLUE, GREY, WHITE = Lab(45, 60, 35), Lab(35, 5, -45), Lab(50, 0, 0), Lab(92, 0, 4)


def facets_of(*labs, **fields):
    swatches = [Swatch(f"Yarn {n}", lab, **fields) for n, lab in enumerate(labs)]
    left = left_of(swatches, Fabric())
    return read_facets(swatches, [families_of(lab) for lab in labs], left)


def held(number, table):
    return {name for place, name in enumerate(table) if number >> place & 1}


def test_families_by_their_share():
    facets = facets_of(RED, RED, BLUE, GREY)
    assert held(facets.families_some, FAMILIES) == {"red", "blue", "neutral"}
    assert held(facets.families_half, FAMILIES) == {"red"}
    assert held(facets.families_all, FAMILIES) == set()
    assert held(facets_of(GREY, WHITE).families_all, FAMILIES) == {"neutral"}


def test_half_of_five_yarns_is_three():
    assert held(facets_of(RED, RED, BLUE, GREY, WHITE).families_half, FAMILIES) == set()
    assert held(facets_of(RED, RED, RED, GREY, WHITE).families_half, FAMILIES) == {"red"}


def test_lightness_from_the_darkest_to_the_lightest():
    facets = facets_of(GREY, BLUE, WHITE)
    assert (facets.darkest, facets.lightest) == (35, 92)


@pytest.mark.parametrize("labs", [(RED, BLUE, WHITE), (GREY, Lab(53, 0, 0), WHITE), (GREY, GREY)])
def test_the_worst_grade_is_that_of_the_worst_pair_of_the_audit(labs):
    pairs = compare_all([Swatch(str(n), lab) for n, lab in enumerate(labs)], Fabric())
    worst = max(GRADES.index(pair.grade) for pair in pairs)
    assert facets_of(*labs).worst_grade == worst


def test_the_mean_grade_lies_between_the_best_and_the_worst():
    facets = facets_of(GREY, Lab(52, 0, 0), WHITE)
    assert GRADES[facets.worst_grade] == "lost"
    assert GRADES[facets.mean_grade] in {"workable", "strong"}


def test_fibres_and_dye_styles():
    wool, blend = (("merino", 100.0),), (("alpaca", 70.0), ("silk", 30.0))
    left = left_of([Swatch("a", RED), Swatch("b", BLUE)], Fabric())
    swatches = [
        Swatch("a", RED, fibre=wool, dye_style="tonal"),
        Swatch("b", BLUE, fibre=blend, dye_style="solid"),
    ]
    facets = read_facets(swatches, [["red"], ["blue"]], left)
    assert held(facets.fibres, KINDS) == {"animal", "silk"}
    assert held(facets.dye_styles, DYE_STYLES) == {"tonal", "solid"}
    assert facets.words == " a merino b alpaca silk"


def test_every_dye_style_has_a_bit():
    assert set(DYE_STYLES) == set(DyeStyle.values)


def test_bits_pass_over_what_is_not_in_the_table():
    assert bits(["red", "mauve", None], FAMILIES) == 1


@pytest.mark.parametrize(
    ("texts", "folded"),
    [
        (["Élan d'Été"], " elan d ete"),
        (["STRASSE Straße"], " strasse"),
        (["gull gull", "Gull"], " gull"),
        (["\N{FULLWIDTH DIGIT FOUR}ply\tmerino/silk"], " 4ply merino silk"),
        (["羊毛 шерсть"], " 羊毛 шерсть"),
        (["", "--"], ""),
    ],
)
def test_words_are_folded_as_they_are_searched(texts, folded):
    assert fold(texts) == folded
