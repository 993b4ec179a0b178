from itertools import product

import pytest

from palettes.colour.contrast import JUST_NOTICEABLE, STRONG_FROM, compare_all
from palettes.colour.swap import best_swap
from palettes.colour.swatch import Fabric
from tests.core.yarns import GOOD, dyed, grey

SHAWL = Fabric()


def closest(palette):
    return sorted(min(pair.left, STRONG_FROM) for pair in compare_all(palette, SHAWL))


def test_the_twin_goes_and_the_missing_light_comes():
    swap = best_swap([grey(20), grey(50), grey(52)], [grey(51), grey(90)], SHAWL)
    assert swap is not None
    assert swap.spare == 1
    assert swap.out in (1, 2)
    assert swap.left_after > swap.left_before + JUST_NOTICEABLE


def test_agrees_with_trying_every_swap():
    palette = [dyed(t) for t in ("#7a4b2c", "#5f6b3a", "#8c2f1b", "#c9782f", "#d9b23c")]
    spares = [dyed(t) for t in ("#f3efe6", "#1b2a3a", "#7a4b2c", "#8fb3d9")]
    merits = {
        (out, spare): closest([*palette[:out], spares[spare], *palette[out + 1 :]])
        for out, spare in product(range(5), range(4))
    }
    swap = best_swap(palette, spares, SHAWL)
    assert swap is not None
    assert merits[swap.out, swap.spare] == max(merits.values())
    assert swap.left_before == pytest.approx(closest(palette)[0])
    assert swap.left_after == pytest.approx(merits[swap.out, swap.spare][0])


def test_nothing_is_suggested_when_nothing_helps():
    assert best_swap(GOOD, [], SHAWL) is None
    assert best_swap([grey(10), grey(90)], [grey(50)], SHAWL) is None
    assert best_swap([grey(50), grey(51)], [grey(50.5)], SHAWL) is None
    # One more in lightness is better, and nobody would notice.
    assert best_swap([grey(50), grey(51)], [grey(52)], SHAWL) is None


def test_of_equal_swaps_the_first_is_named():
    swap = best_swap([grey(20), grey(21)], [grey(90), grey(90)], SHAWL)
    assert swap is not None
    assert swap.spare == 0
