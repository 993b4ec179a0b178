"""Measures of drawings: lengths in proportion, nothing outside, nothing drawn of nothing."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kal.plots import (
    BAR_LEFT,
    BAR_WIDTH,
    LINE_FOOT,
    LINE_TOP,
    WIDTH,
    bars,
    level_step,
    line,
    named_places,
)

amounts = st.lists(st.integers(0, 1_000_000), min_size=1, max_size=40)


def named(numbers):
    return [(f"n{place}", number) for place, number in enumerate(numbers)]


@given(amounts)
def test_bars_are_in_proportion_and_inside(numbers):
    drawing = bars([(name, number, str(number)) for name, number in named(numbers)])
    if not any(numbers):
        assert drawing is None
        return
    assert drawing is not None
    longest = max(numbers)
    for bar, number in zip(drawing.bars, numbers, strict=True):
        assert bar.width == pytest.approx(BAR_WIDTH * number / longest, abs=0.05)
        assert 0 <= bar.width <= bar.rail == BAR_WIDTH
        assert bar.y + drawing.thickness <= drawing.height


def test_bars_out_of_a_whole_are_as_long_as_their_share():
    drawing = bars([("a", 1, "1"), ("b", 3, "3")], out_of=[4, 8])
    assert drawing is not None
    assert [bar.rail for bar in drawing.bars] == [BAR_WIDTH / 2, BAR_WIDTH]
    assert [bar.width for bar in drawing.bars] == [BAR_WIDTH / 8, BAR_WIDTH * 3 / 8]


def test_a_range_is_drawn_on_the_scale_of_the_bars():
    drawing = bars([("a", 2, "2"), ("b", 3, "3")], out_of=[4, 4], spans=[(1, 4), (3, 3)])
    assert drawing is not None
    ends = [(BAR_LEFT + BAR_WIDTH / 4, BAR_LEFT + BAR_WIDTH), (BAR_LEFT + BAR_WIDTH * 3 / 4,) * 2]
    assert [bar.span for bar in drawing.bars] == ends
    assert all(bar.y < bar.middle_y < bar.y + drawing.thickness for bar in drawing.bars)
    assert drawing.in_words == "a 2; b 3"


@given(amounts)
def test_a_line_stays_inside_and_is_drawn_only_of_something(numbers):
    drawing = line(named(numbers))
    if len(numbers) < 2 or not any(numbers):
        assert drawing is None
        return
    assert drawing is not None
    points = [tuple(map(float, pair.split(","))) for pair in drawing.points.split()]
    assert len(points) == len(numbers)
    assert all(0 <= x <= WIDTH and LINE_TOP <= y <= LINE_FOOT for x, y in points)
    assert [x for x, _ in points] == sorted(x for x, _ in points)
    assert max(y for _, y in points) <= LINE_FOOT


@given(st.floats(0.5, 1e9))
def test_levels_reach_the_top_in_at_most_five_steps(top):
    step = level_step(top)
    assert step >= 1
    assert 5 * step >= top
    assert step == 1 or 5 * step / 2.5 <= top * 1.0000001


@pytest.mark.parametrize(
    ("count", "places"), [(2, [0, 1]), (3, [0, 1, 2]), (10, [0, 3, 6, 9]), (100, [0, 33, 66, 99])]
)
def test_names_are_at_both_ends_and_between(count, places):
    assert named_places(count) == places
