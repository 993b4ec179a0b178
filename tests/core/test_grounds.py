"""The table of a photo, its light and its shadows."""

import numpy as np
import pytest

from palettes.colour.grounds import find_ground
from palettes.colour.spaces import linear_to_lab
from tests.core.photo_scenes import flat

ROWS, COLUMNS = 90, 120
ALL = np.ones((ROWS, COLUMNS), dtype=bool)
THING = np.s_[30:60, 40:80]


def ground_of(photo, allowed=ALL):
    ground = find_ground(linear_to_lab(photo), allowed)
    assert ground is not None
    return ground


def table(lab=(85, 2, 8)):
    """Return a table lit from the left and darker in the corners, a fifth less at the worst."""
    y, x = np.mgrid[-1 : 1 : ROWS * 1j, -1 : 1 : COLUMNS * 1j]
    return flat(lab, ROWS, COLUMNS) * (1 - 0.05 * x - 0.08 * (x**2 + y**2))[..., np.newaxis]


def test_a_table_in_uneven_light_is_all_found_but_for_what_lies_on_it():
    photo = table()
    photo[THING] = table((84, 8, 4))[THING]
    thing = np.zeros_like(ALL)
    thing[THING] = True
    assert (ground_of(photo).own == ~thing).all()


def test_a_yarn_over_the_edge_is_not_the_table():
    photo = table()
    photo[:60, :50] = flat((40, 30, 10), 60, 50)
    ground = ground_of(photo)
    assert ground.own[60:].all()
    assert not ground.own[:60, :50].any()


@pytest.mark.parametrize("split", [np.s_[:, 60:], np.s_[45:]])
def test_two_yarns_that_fill_a_photo_lie_on_nothing(split):
    photo = flat((40, 30, 10), ROWS, COLUMNS)
    photo[split] = flat((70, -20, 30), ROWS, COLUMNS)[split]
    assert find_ground(linear_to_lab(photo), ALL) is None


def test_what_is_marked_counts_for_nothing():
    photo = table()
    photo[:, 100:] = flat((95, 0, 0), ROWS, 20)
    allowed = ALL.copy()
    allowed[:, 100:] = False
    ground = ground_of(photo, allowed)
    assert (ground.own == allowed).all()


def test_a_shadow_has_the_tables_colour_and_a_yarn_has_not():
    area = np.zeros_like(ALL)
    area[THING] = True
    shaded, yarn = table(), table()
    shaded[THING] *= 0.7
    yarn[THING] = flat((70, 14, 4), 30, 40)
    for photo, is_shadow in ((shaded, True), (yarn, False), (table() + 0.1, False)):
        ground = ground_of(table())
        assert ground.is_shaded_as(photo, area) is is_shadow


def test_too_small_a_picture_has_no_table():
    assert find_ground(np.zeros((1, 4, 3)), np.ones((1, 4), dtype=bool)) is None
