"""No colour is nearer than the bound of its group says, by CIEDE2000 itself."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from palettes.colour.difference import delta_e_2000_matrix
from palettes.colour.difference_bounds import boxes_of, least_differences
from tests import reference

light = st.floats(0, 100)
side = st.floats(-128, 128)
colours = st.tuples(light, side, side)
# Half the width of a group: from none, through that of a cell, to the whole of a colour circle.
widths = st.sampled_from([0.0, 0.01, 1.0, 3.0, 10.0, 60.0])


def of_groups(labs, groups):
    """The bound of every colour from each asked colour, (asked, colours)."""
    return lambda asked: least_differences(asked, boxes_of(labs, groups))[:, groups]


@given(st.lists(colours, min_size=1, max_size=8), colours, widths, st.integers(0, 2**32 - 1))
@settings(deadline=None, max_examples=300)
# Greys, which have no hue; a group round the grey axis; hues that are opposite; the blues, where
# chroma and hue are mixed; and a hue either side of 0 and of 180 degrees.
@example([(50.0, 0.0, 0.0)], (50.0, 0.0, 0.0), 0.0, 0)
@example([(50.0, 2.0, 0.0)], (50.0, 0.0, 0.0), 3.0, 1)
@example([(50.0, 30.0, 10.0)], (50.0, -30.0, -10.0), 3.0, 2)
@example([(40.0, 10.0, -60.0), (40.0, 25.0, -50.0)], (42.0, 5.0, -70.0), 10.0, 3)
@example([(50.0, 40.0, 0.5)], (50.0, 40.0, -0.5), 1.0, 4)
@example([(50.0, -40.0, 0.5)], (50.0, -40.0, -0.5), 1.0, 5)
def test_no_colour_is_nearer_than_its_group_can_be(asked, middle, width, seed):
    dice = np.random.default_rng(seed)
    labs = np.array(middle) + dice.uniform(-width, width, (200, 3))
    labs[:, 0] = labs[:, 0].clip(0, 100)
    bounds = of_groups(labs, np.zeros(200, dtype=np.intp))(np.array(asked))
    assert (bounds <= delta_e_2000_matrix(asked, labs)).all()


@pytest.mark.parametrize("chroma", [3, 40, 90])
def test_in_many_small_groups_of_every_hue(chroma):
    dice = np.random.default_rng(chroma)
    hue = np.repeat(np.linspace(0, 2 * np.pi, 500), 20) + dice.uniform(0, 0.05, 10_000)
    size = chroma + dice.uniform(-2, 2, 10_000)
    labs = np.stack([dice.uniform(48, 52, 10_000), size * np.cos(hue), size * np.sin(hue)], axis=1)
    groups = np.repeat(np.arange(500), 20)
    asked = labs[dice.integers(0, 10_000, 60)]
    differences = delta_e_2000_matrix(asked, labs)
    bounds = of_groups(labs, groups)(asked)
    assert (bounds <= differences).all()
    # And it is of use: the mean of what it gives away is less than the width of a group.
    assert (differences - bounds).mean() < 3.5


def test_a_group_of_one_is_no_further_than_the_published_difference():
    """Sharma, Wu & Dalal (2005), table 1."""
    for row in reference.rows("ciede2000_pairs.csv"):
        first, second = (np.array([[float(row[f"{of}{n}"]) for of in "Lab"]]) for n in (1, 2))
        (bound,) = least_differences(first, boxes_of(second, np.array([0])))
        # Half a unit of the last printed digit, plus a hair for the rounding of the table itself.
        assert bound[0] <= float(row["dE00"]) + 5.1e-5
