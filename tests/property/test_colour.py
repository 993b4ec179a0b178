"""Rules of the colour core that hold for any colours."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from palettes.colour import spaces
from palettes.colour.audit import audit
from palettes.colour.contrast import GRADES, compare
from palettes.colour.difference import delta_e_2000
from palettes.colour.finding import SEVERITIES
from palettes.colour.ladder import GREY_STEP, build_ladder
from palettes.colour.quantities import balls_needed, exact
from palettes.colour.schemes import read_scheme
from palettes.colour.spaces import Lab
from palettes.colour.stripes import as_arrays, see_pairs
from palettes.colour.swatch import Fabric, Swatch
from palettes.colour.wording import describe

levels = st.integers(0, 255)
hexes = st.builds("#{:02x}{:02x}{:02x}".format, levels, levels, levels)
labs = st.builds(spaces.hex_to_lab, hexes)
spreads = st.floats(0, 30)
swatches = st.builds(Swatch, st.just("yarn"), labs, spreads)
fabrics = st.builds(Fabric, st.floats(3, 60), st.floats(5, 120))
amounts = st.decimals("0.1", "5000", places=1)


class TestSpaces:
    """Conversions lose nothing and respect black, white and grey."""

    @given(hexes)
    def test_a_hex_colour_survives_cielab(self, text):
        assert spaces.lab_to_hex(spaces.hex_to_lab(text)) == text

    @given(st.lists(st.floats(-0.5, 1.5), min_size=3, max_size=3))
    def test_any_light_survives_the_transfer_curve(self, rgb):
        back = spaces.linear_to_srgb(spaces.srgb_to_linear(rgb))
        assert back == pytest.approx(np.array(rgb), abs=1e-7)

    @given(levels)
    def test_the_grey_axis_stays_neutral(self, level):
        assert spaces.chroma(spaces.hex_to_lab(f"#{level:02x}{level:02x}{level:02x}")) < 1e-9

    @given(labs)
    def test_a_colours_grey_has_its_lightness(self, lab):
        grey = spaces.hex_to_lab(spaces.grey_hex(lab))
        # Half an eight-bit step of grey is at most 0.2 in L*.
        assert grey.l == pytest.approx(lab.l, abs=0.25)

    @given(st.lists(levels, min_size=3, max_size=3), st.integers(0, 2))
    def test_brightening_never_darkens(self, rgb, channel):
        brighter = list(rgb)
        brighter[channel] = min(255, brighter[channel] + 1)
        before, after = spaces.srgb_to_lab(np.array([rgb, brighter]) / 255)
        assert after[0] >= before[0]

    @given(hexes, hexes)
    def test_wcag_contrast_is_between_1_and_21(self, first, second):
        assert 1 <= spaces.wcag_contrast(first, second) <= 21.000001


class TestDifference:
    """CIEDE2000 is symmetric, zero only on itself, and never negative."""

    @given(labs, labs)
    def test_difference_does_not_depend_on_order(self, first, second):
        assert delta_e_2000(first, second) == delta_e_2000(second, first)

    @given(labs, labs)
    def test_only_a_colour_itself_is_at_no_difference(self, first, second):
        assert (delta_e_2000(first, second) == 0) == (first == second)
        assert delta_e_2000(first, second) >= 0

    @given(st.lists(st.floats(0, 100), min_size=3, max_size=3))
    def test_along_the_grey_axis_further_is_more_different(self, lightnesses):
        dark, middle, light = (Lab(value, 0, 0) for value in sorted(lightnesses))
        assert delta_e_2000(dark, light) >= delta_e_2000(dark, middle) - 1e-9


class TestPairs:
    """Blur and texture only take away, and what is left decides the grade."""

    @given(swatches, swatches, fabrics)
    def test_nothing_adds_to_the_plain_difference(self, first, second, fabric):
        pair = compare(first, second, fabric)
        for left in (pair.left_in_hand, pair.left_at_arm, pair.left_across_room):
            assert 0 <= left <= pair.delta_e + 1e-9

    @given(labs, labs, spreads, spreads, st.floats(0.1, 10), fabrics)
    def test_more_speckle_never_reads_better(self, first, second, one, other, extra, fabric):
        calm = compare(Swatch("", first, one), Swatch("", second, other), fabric)
        busy = compare(Swatch("", first, one + extra), Swatch("", second, other), fabric)
        assert busy.left <= calm.left + 1e-9
        assert GRADES.index(busy.grade) >= GRADES.index(calm.grade)

    @given(swatches, swatches, fabrics)
    def test_order_does_not_matter(self, first, second, fabric):
        one, other = compare(first, second, fabric), compare(second, first, fabric)
        assert one.delta_e == other.delta_e
        assert one.left == pytest.approx(other.left, abs=1e-6)

    @given(swatches, swatches, fabrics)
    def test_without_distance_and_texture_all_is_seen_and_from_afar_nothing(
        self, first, second, fabric
    ):
        labs, textures = as_arrays((first, second))
        seen = see_pairs(labs[np.newaxis], textures[np.newaxis], fabric, (0.0, 1e4))
        near, far = seen.solid[:, 0, 0]
        assert near == pytest.approx(seen.plain[0, 0], abs=1e-9)
        assert near == pytest.approx(delta_e_2000(first.lab, second.lab), abs=1e-9)
        assert far == pytest.approx(0, abs=1e-6)

    @given(st.floats(30, 70), st.floats(0, 360), st.floats(8, 25), fabrics)
    def test_a_pair_of_one_lightness_fades_before_one_of_one_hue(self, light, hue, reach, fabric):
        """Two greys against two opposite hues of equal CIEDE2000, L* kept within the scale."""
        turn = np.radians(hue)
        one, other = (
            Swatch("", Lab(light, side * reach * np.cos(turn), side * reach * np.sin(turn)))
            for side in (-1, 1)
        )
        hues = compare(one, other, fabric)
        wanted = hues.delta_e
        low, high = 0.0, 100 - light
        for _ in range(40):
            middle = (low + high) / 2
            near = delta_e_2000(Lab(light, 0, 0), Lab(light + middle, 0, 0)) < wanted
            low, high = (middle, high) if near else (low, middle)
        greys = compare(Swatch("", Lab(light, 0, 0)), Swatch("", Lab(light + low, 0, 0)), fabric)
        assume(greys.delta_e == pytest.approx(wanted, abs=1e-6))
        assert (hues.fades_at_m or 0) < (greys.fades_at_m or 1e9)


class TestAudit:
    """Any 2 to 8 yarns get an audit whose findings can all be put into words."""

    @settings(max_examples=40, deadline=None)
    @given(st.lists(swatches, min_size=2, max_size=6), st.randoms(use_true_random=False))
    def test_the_order_of_the_yarns_does_not_matter(self, palette, random):
        order = list(range(len(palette)))
        random.shuffle(order)
        judged, turned = audit(palette), audit([palette[i] for i in order])
        assert turned.verdict is judged.verdict
        assert turned.greys == judged.greys
        assert turned.scheme.scheme is judged.scheme.scheme
        assert sorted(one.code for one in turned.findings) == sorted(
            one.code for one in judged.findings
        )
        left = {(pair.first, pair.second): pair.left for pair in judged.pairs}
        for pair in turned.pairs:
            places = sorted((order[pair.first], order[pair.second]))
            assert pair.left == pytest.approx(left[places[0], places[1]], abs=1e-6)

    @settings(max_examples=60, deadline=None)
    @given(st.lists(swatches, min_size=2, max_size=8), fabrics, st.lists(swatches, max_size=3))
    def test_any_palette_is_audited_in_words(self, palette, fabric, spares):
        judged = audit(palette, fabric=fabric, spares=spares)
        assert len(judged.pairs) == len(palette) * (len(palette) - 1) // 2
        ranks = [SEVERITIES.index(finding.severity) for finding in judged.findings]
        assert ranks == sorted(ranks)
        for finding in judged.findings:
            assert all(0 <= yarn < len(palette) + len(spares) for yarn in finding.yarns)
            words = describe(finding, [])
            assert all((words.what, words.why, words.try_this))
            assert "{" not in words.what + words.why + words.try_this

    @given(st.lists(st.floats(0, 100), min_size=1, max_size=8))
    def test_ladder_counts_the_most_greys_that_fit(self, lightnesses):
        ladder = build_ladder(lightnesses)
        best = _most_apart(sorted(lightnesses))
        assert ladder.distinct_greys == best
        assert sorted(ladder.order) == list(range(len(lightnesses)))

    @given(st.lists(labs, min_size=1, max_size=8))
    def test_scheme_does_not_depend_on_order(self, palette):
        assert read_scheme(palette).scheme is read_scheme(palette[::-1]).scheme


def _most_apart(rungs):
    """Every subset, tried one by one."""
    best = 0
    for choice in range(2 ** len(rungs)):
        chosen = [rung for i, rung in enumerate(rungs) if choice >> i & 1]
        gaps = pairwise(chosen)
        if all(upper - lower >= GREY_STEP for lower, upper in gaps):
            best = max(best, len(chosen))
    return best


class TestQuantities:
    """The balls named are enough, and one fewer is not."""

    @given(amounts, amounts, amounts, amounts)
    def test_balls_are_enough_and_none_is_spare(self, grams, metres, put_up_grams, put_up_metres):
        balls = balls_needed(grams, metres, put_up_grams, put_up_metres)
        assert balls * put_up_grams >= grams
        assert balls * put_up_metres >= metres
        fewer = balls - 1
        assert fewer * put_up_grams < grams or fewer * put_up_metres < metres

    @given(st.floats(0.01, 1e6))
    def test_a_float_is_taken_as_it_is_written(self, amount):
        assert float(exact(amount)) == amount
