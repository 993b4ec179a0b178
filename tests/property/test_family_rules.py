"""Rules that every colour's family keeps, whatever the table says."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchmarks.families_fit import memberships
from palettes.colour.difference import delta_e_2000_pairs
from palettes.colour.families import (
    BORDER_WIDTH,
    FAMILIES,
    SECTORS,
    Family,
    families_of,
    family_of,
    name_families,
    shade_of,
    surroundings,
)
from palettes.colour.family_table import TABLE
from palettes.colour.spaces import Lab, as_lab, srgb_to_lab

channels = st.integers(0, 255)
screen_colours = st.builds(
    lambda *levels: as_lab(srgb_to_lab(np.array(levels) / 255)), channels, channels, channels
)
grid = np.linspace(0, 1, 33)
GRID_LABS = srgb_to_lab(np.array(np.meshgrid(grid, grid, grid)).reshape(3, -1).T)


class TestEveryColour:
    """Each colour has one family, and at most one more."""

    @given(screen_colours)
    def test_own_family_comes_first(self, lab):
        families = families_of(lab)
        assert families[0] is family_of(lab)
        assert len(set(families)) == len(families) <= 2

    @given(screen_colours)
    def test_neutrals_and_no_others_have_a_neutral_shade(self, lab):
        neutral = shade_of(lab) in {"white", "cream", "beige", "grey", "black"}
        assert neutral == (family_of(lab) is Family.NEUTRAL)

    @given(screen_colours, st.integers(0, 25))
    def test_a_colour_just_over_a_border_is_near_it(self, lab, way):
        moved = surroundings(np.array([lab]), BORDER_WIDTH / 2)[0, way]
        if FAMILIES[int(name_families(moved))] is not family_of(lab):
            assert len(families_of(lab)) == 2

    def test_all_families_occur_and_every_screen_colour_has_one(self):
        counts = np.bincount(name_families(GRID_LABS), minlength=len(FAMILIES))
        assert counts.sum() == len(GRID_LABS)
        assert all(counts > 0)


class TestHue:
    """Round the circle, families come in one order and the borders never cross."""

    @given(st.floats(0, 100), st.floats(0, 150))
    def test_borders_keep_their_order(self, light, chroma):
        borders = TABLE.hue_borders(np.array([light]), np.array([chroma]))[:, 0]
        assert np.all(np.diff((borders - borders[0]) % 360) > 0)

    @given(st.floats(5, 95), st.floats(30, 100))
    def test_families_follow_one_another_round_the_circle(self, light, chroma):
        hues = np.radians(np.arange(345, 345 + 360, 0.5))
        circle = np.stack(
            [np.full_like(hues, light), chroma * np.cos(hues), chroma * np.sin(hues)], axis=-1
        )
        named = [FAMILIES[index] for index in name_families(circle)]
        changes = [(one, two) for one, two in itertools.pairwise(named) if one is not two]
        assert all(_side_by_side(one, two) for one, two in changes)


def _side_by_side(first: Family, second: Family) -> bool:
    places = [{i for i, pair in enumerate(SECTORS) if family in pair} for family in (first, second)]
    return any((one - two) % len(SECTORS) in {0, 1, 6} for one in places[0] for two in places[1])


class TestLightness:
    """Towards white or black along the grey axis nothing but a neutral is found."""

    @given(st.floats(0, 100), st.floats(-4, 4), st.floats(-4, 4))
    def test_near_greys_are_neutrals(self, light, a, b):
        assert family_of(Lab(light, a, b)) is Family.NEUTRAL

    @given(screen_colours)
    def test_losing_all_colour_makes_a_neutral(self, lab):
        assert family_of(Lab(lab.l, 0.0, 0.0)) is Family.NEUTRAL


def test_moving_by_one_rarely_changes_the_family():
    """docs/families.md gives 2.7 % of moves over all of sRGB."""
    changed = name_families(surroundings(GRID_LABS, 1.0)) != name_families(GRID_LABS)[:, np.newaxis]
    assert np.mean(changed) < 0.03


def test_surroundings_are_as_far_as_they_say():
    labs = GRID_LABS[(GRID_LABS[:, 0] > 10) & (GRID_LABS[:, 0] < 90)][::7]
    around = surroundings(labs, 2.0)
    assert delta_e_2000_pairs(around, labs[:, np.newaxis]) == pytest.approx(2.0, abs=0.1)


def test_blurred_borders_of_the_fit_are_the_borders_of_the_rule():
    light = GRID_LABS[GRID_LABS[:, 0] >= 1]
    sharp = memberships(light, TABLE, blur=1e-6).argmax(axis=1)
    assert np.mean(sharp == name_families(light)) > 0.9999
