"""The nearest palettes, against scipy's assignment solver and against trying everybody."""

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.optimize import linear_sum_assignment

from palettes.colour import nearness
from palettes.colour.difference import delta_e_2000_matrix
from palettes.colour.nearness import cheapest, hopeful, matched, nearest, sort_crowd


def crowd_of(kind, count, size=5, seed=1):
    """Random palettes: any colours, shades of one colour, greys, vivid, or ladders."""
    dice = np.random.default_rng(seed)
    shape = (count, size)
    if kind == "one colour":
        labs = dice.normal((52, 0, 0), (20, 28, 28), (count, 1, 3)) + dice.normal(0, 3, (*shape, 3))
    elif kind == "greys":
        labs = dice.normal((52, 0, 0), (22, 2, 2), (*shape, 3))
    elif kind == "vivid":
        hue, chroma = dice.uniform(0, 2 * np.pi, shape), dice.uniform(40, 100, shape)
        light = dice.uniform(20, 90, shape)
        labs = np.stack([light, chroma * np.cos(hue), chroma * np.sin(hue)], axis=-1)
    else:
        labs = dice.normal((52, 0, 0), (20, 28, 28), (*shape, 3))
    labs[..., 0] = labs[..., 0].clip(0, 100)
    return labs


KINDS = ("any", "one colour", "greys", "vivid")


def by_brute_force(asked, labs, count):
    """Every palette's distance by scipy, nearest first and the later of two equally near first."""
    distances = []
    for palette in labs:
        costs = delta_e_2000_matrix(asked, palette)
        rows, columns = linear_sum_assignment(costs)
        distances.append(costs[rows, columns].mean())
    order = np.lexsort((-np.arange(len(labs)), np.round(distances, 9)))[:count]
    return order.tolist(), [distances[place] for place in order]


@given(
    st.integers(2, 6).flatmap(
        lambda size: arrays(
            np.float64, (3, size, size), elements=st.floats(0, 100, allow_subnormal=False)
        )
    )
)
@settings(deadline=None, max_examples=60)
def test_the_cheapest_assignment_is_that_of_every_permutation(costs):
    size = costs.shape[1]
    rows = range(size)
    for one, least in zip(costs, cheapest(costs), strict=True):
        tried = [sum(one[row, order[row]] for row in rows) for order in permutations(rows)]
        assert least == pytest.approx(min(tried) / size, abs=1e-9)


@pytest.mark.parametrize("size", [2, 5, 8])
def test_the_cheapest_assignment_is_scipys(size):
    costs = np.random.default_rng(size).uniform(0, 50, (40, size, size))
    expected = [one[linear_sum_assignment(one)].mean() for one in costs]
    assert cheapest(costs) == pytest.approx(expected)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("size", [2, 5])
def test_the_nearest_are_those_of_brute_force(kind, size):
    labs = crowd_of(kind, 1500, size)
    crowd = sort_crowd(labs)
    for asked in (labs[3], labs[700], crowd_of("any", 1, size, seed=9)[0]):
        found = nearest(asked, crowd, 20)
        places, distances = by_brute_force(asked, labs, 20)
        assert [near.place for near in found] == places
        assert [near.distance for near in found] == pytest.approx(distances)


@pytest.mark.parametrize("kind", KINDS)
def test_few_are_worked_out_and_all_that_are_near_enough_are_among_them(kind):
    labs = crowd_of(kind, 20_000, seed=4)
    crowd = sort_crowd(labs)
    for asked in labs[:5]:
        places = hopeful(asked, crowd, 20)
        assert 20 <= len(places) < 2_000
        distances = matched(asked, labs)
        assert set(np.argsort(distances)[:20].tolist()) <= set(places.tolist())


def test_whoever_is_far_from_everybody_is_compared_as_rightly():
    labs = crowd_of("greys", 3000)
    asked = crowd_of("vivid", 1)[0]
    places, distances = by_brute_force(asked, labs, 20)
    assert min(distances) > 16
    assert [near.place for near in nearest(asked, sort_crowd(labs), 20)] == places


def test_partners_pair_the_yarns_off():
    labs = crowd_of("any", 1)
    shuffled = labs[:, [3, 1, 4, 0, 2]]
    (near,) = nearest(labs[0], sort_crowd(shuffled), 20)
    assert near.distance == pytest.approx(0, abs=1e-9)
    assert [shuffled[0, place].tolist() for place in near.partners] == labs[0].tolist()


def test_of_two_alike_the_later_comes_first():
    labs = np.repeat(crowd_of("any", 1), 3, axis=0)
    assert [near.place for near in nearest(labs[0], sort_crowd(labs), 2)] == [2, 1]


def test_nobody_to_compare_with():
    assert nearest(crowd_of("any", 1)[0], sort_crowd(crowd_of("any", 0)), 5) == []
    assert nearness.PROBED > 20  # as many as a page shows are probed at once
