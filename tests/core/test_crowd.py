"""A crowd against meetings: the same outcomes, swaps and replacements as one by one."""

from itertools import combinations

import numpy as np
import pytest

from palettes.colour.contrast import GRADES, JUST_NOTICEABLE, Grade
from palettes.colour.crowd import best_of_each, try_meetings, try_swaps
from palettes.colour.letter_advice import best_letter_swap, best_replacement
from palettes.colour.letters import ALPHABET, Meeting, assess, plan_crowd, plan_many
from palettes.colour.pair_matrix import many_pairs_left
from palettes.colour.spaces import Lab
from palettes.colour.stripes import as_arrays
from palettes.colour.swatch import Fabric, Swatch

FABRIC = Fabric()
MEETINGS = [
    Meeting("A", "B", Grade.STRONG),
    Meeting("D", "C", Grade.WORKABLE),
    Meeting("B", "E", Grade.CLOSE),
    Meeting("A", "B", Grade.CLOSE),
]


def grey(level: float) -> Swatch:
    return Swatch(f"grey {level:g}", Lab(level, 0, 0))


@pytest.fixture(scope="module")
def crowd():
    rng = np.random.default_rng(21)
    labs = np.stack([rng.uniform(10, 95, (40, 5)), *rng.normal(0, 25, (2, 40, 5))], axis=-1)
    textures = np.array([0.0, 4.0, 9.0])[rng.integers(0, 3, (40, 5))]
    orders = np.array([rng.permutation(5) for _ in range(40)])
    return labs, textures, orders


def palette_of(labs, textures):
    return [
        Swatch(str(i), Lab(*lab), spread=texture)
        for i, (lab, texture) in enumerate(zip(labs.tolist(), textures.tolist(), strict=True))
    ]


def test_a_crowd_comes_out_as_each_of_its_palettes(crowd):
    labs, textures, orders = crowd
    trial = try_meetings(many_pairs_left(labs, textures, FABRIC), 5, MEETINGS, orders)
    for row, order in enumerate(orders.tolist()):
        palette = palette_of(labs[row], textures[row])
        for column, meeting in enumerate(MEETINGS):
            (alone,) = assess(palette, [meeting], order, FABRIC).outcomes
            assert trial.margins[row, column] == pytest.approx(alone.margin, abs=1e-9)
            assert GRADES[trial.grades[row, column]] is alone.grade
            assert (trial.margins[row, column] >= 0) == alone.reads


def test_each_swap_is_what_trying_it_by_hand_gives(crowd):
    labs, textures, orders = crowd
    left = many_pairs_left(labs, textures, FABRIC)
    swaps = try_swaps(left, 5, MEETINGS, orders)
    assert swaps.letters == tuple(combinations(ALPHABET[:5], 2))
    mended = broken = 0
    for row, order in enumerate(orders.tolist()):
        palette = palette_of(labs[row], textures[row])
        before = assess(palette, MEETINGS, order, FABRIC)
        order[1], order[4] = order[4], order[1]
        after = assess(palette, MEETINGS, order, FABRIC)
        mended += after.reads and not before.reads
        broken += before.reads and not after.reads
    column = swaps.letters.index(("B", "E"))
    assert (swaps.mended[column], swaps.broken[column]) == (mended, broken)
    assert mended + broken > 0


def test_no_swap_lifts_the_worst_margin_of_a_best_plan(crowd):
    labs, textures, _ = crowd
    left = many_pairs_left(labs, textures, FABRIC)
    plans = plan_crowd(left, 5, MEETINGS)
    swaps = try_swaps(left, 5, MEETINGS, plans.yarns)
    assert (swaps.after <= swaps.before[:, np.newaxis] + 1e-5).all()
    assert not swaps.mended.any()
    assert best_of_each(swaps, swaps) == [None] * len(labs)


def test_a_crowds_plans_do_not_depend_on_how_its_pairs_were_worked_out(crowd):
    labs, textures, _ = crowd
    plans = plan_crowd(many_pairs_left(labs, textures, FABRIC), 5, MEETINGS, letters=5)
    assert (plans.yarns == plan_many(labs, textures, MEETINGS).yarns).all()


def test_no_meetings_leave_nothing_to_read_and_nothing_to_swap():
    labs, textures = as_arrays([grey(20), grey(80)])
    left = many_pairs_left(labs[np.newaxis], textures[np.newaxis], FABRIC)
    orders = np.array([[0, 1]])
    trial = try_meetings(left, 2, [], orders)
    assert trial.reads.tolist() == [True]
    assert trial.worst_grades.tolist() == [0]
    swaps = try_swaps(left, 2, [], orders)
    assert swaps.letters == ()
    assert best_of_each(swaps, swaps) == [None]


def test_the_helpful_swap_takes_the_near_greys_apart():
    palette = [grey(20), grey(24), grey(90)]
    meetings = [Meeting("A", "B", Grade.STRONG)]
    assert best_letter_swap(palette, meetings, meetings, [0, 1, 2], FABRIC) == ("B", "C")
    assert best_letter_swap(palette, meetings, meetings, [0, 2, 1], FABRIC) is None


def test_the_helpful_spare_replaces_one_of_the_pair():
    palette, spares = [grey(50), grey(54), grey(90)], [grey(56), grey(10)]
    meetings = [Meeting("A", "B", Grade.STRONG), Meeting("B", "C", Grade.WORKABLE)]
    found = best_replacement(palette, spares, meetings, meetings, [0, 1, 2], FABRIC)
    assert found is not None
    assert (found.letter, found.spare) == ("A", 1)
    before = assess(palette, meetings, [0, 1, 2], FABRIC).worst_margin
    after = assess([spares[1], *palette[1:]], meetings, [0, 1, 2], FABRIC).worst_margin
    assert found.worst_before == pytest.approx(before)
    assert found.worst_after == pytest.approx(after)
    assert found.worst_after - found.worst_before >= JUST_NOTICEABLE


def test_a_spare_that_changes_nothing_to_speak_of_is_not_named():
    palette = [grey(20), grey(90)]
    meetings = [Meeting("A", "B", Grade.STRONG)]
    assert best_replacement(palette, [grey(21)], meetings, meetings, [0, 1], FABRIC) is None
    assert best_replacement(palette, [], meetings, meetings, [0, 1], FABRIC) is None
    assert best_replacement(palette, [grey(50)], [], meetings, [0, 1], FABRIC) is None


def test_advice_for_one_clue_does_no_harm_in_another():
    """A-B is lost here; only what also keeps D-E apart, elsewhere, is advised."""
    palette = [grey(20), grey(22), grey(50), grey(90), grey(94)]
    here, elsewhere = [Meeting("A", "B", Grade.STRONG)], [Meeting("C", "D", Grade.STRONG)]
    every = [*here, *elsewhere]
    swap = best_letter_swap(palette, here, every, range(5), FABRIC)
    assert swap is not None
    order = dict(zip("ABCDE", range(5), strict=True))
    order[swap[0]], order[swap[1]] = order[swap[1]], order[swap[0]]
    assert assess(palette, every, list(order.values()), FABRIC).reads


def test_advice_for_one_clue_is_not_about_another():
    """A-B reads well enough here, and what would mend D-E elsewhere is not this clue's word."""
    palette = [grey(20), grey(90), grey(60), grey(40), grey(41)]
    here, elsewhere = [Meeting("A", "C", Grade.STRONG)], [Meeting("D", "E", Grade.STRONG)]
    every = [*here, *elsewhere]
    assert best_replacement(palette, [grey(80)], elsewhere, every, range(5), FABRIC) is not None
    found = best_replacement(palette, [grey(80)], here, every, range(5), FABRIC)
    assert found is None or found.letter in "AC"
