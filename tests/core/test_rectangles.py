"""The largest rectangle in an area, against trying every rectangle there is."""

import itertools

import numpy as np
import pytest

from palettes.colour.rectangles import largest_rectangle, largest_turned_size


def every_size(area):
    """Yield the size of every rectangle that lies in the area, by looking at all of them."""
    rows, columns = area.shape
    for top, bottom in itertools.combinations(range(rows + 1), 2):
        for left, right in itertools.combinations(range(columns + 1), 2):
            if area[top:bottom, left:right].all():
                yield (bottom - top) * (right - left)


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("filled", [0.0, 0.3, 0.7, 0.9, 1.0])
def test_is_the_largest_of_all_there_are(seed, filled):
    area = np.random.default_rng(seed).random((7, 9)) < filled
    size, left, top, right, bottom = largest_rectangle(area)
    assert size == max(every_size(area), default=0)
    assert size == area[top:bottom, left:right].size
    assert area[top:bottom, left:right].all()


@pytest.mark.parametrize("degrees", [0, 30, 60])
def test_a_turned_bar_is_as_large_as_it_is_upright(degrees):
    y, x = np.mgrid[-60:60, -60:60] + 0.5
    turn = np.radians(degrees)
    along, across = x * np.cos(turn) - y * np.sin(turn), x * np.sin(turn) + y * np.cos(turn)
    bar = (abs(along) < 50) & (abs(across) < 10)
    assert largest_turned_size(bar, [degrees]) == pytest.approx(100 * 20, rel=0.12)
    assert largest_turned_size(bar, [0, 30, 60]) == largest_turned_size(bar, [degrees])


def test_nothing_holds_nothing():
    assert largest_turned_size(np.zeros((4, 5), dtype=bool), [0, 30]) == 0
