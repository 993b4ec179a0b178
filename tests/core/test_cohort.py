"""A cohort's picture: the order of its columns, and each pixel where its palette stands."""

import numpy as np

from palettes.colour.cohort import COLUMN, GAP, MOST, WIDTH, YARN, draw_cohort, order_cohort
from palettes.colour.spaces import lab_to_srgb

PAPER = (251, 250, 247)
RED, GREEN, BLUE = (50, 50, 20), (50, -40, 30), (50, 0, -40)
WHITE, BLACK = (95, 0, 0), (10, 0, 0)


def test_round_the_wheel_from_red_then_greys_from_light_to_dark():
    palettes = np.array([[BLACK], [BLUE], [WHITE], [RED], [GREEN]], dtype=float)
    expected = [RED, GREEN, BLUE, WHITE, BLACK]
    assert [tuple(one[0]) for one in order_cohort(palettes)] == expected


def test_the_yarns_of_a_palette_in_the_same_order():
    palette = np.array([[WHITE, BLUE, BLACK, RED, GREEN]], dtype=float)
    expected = [RED, GREEN, BLUE, WHITE, BLACK]
    assert [tuple(lab) for lab in order_cohort(palette)[0]] == expected


def test_each_palette_is_a_column_and_each_yarn_a_part_of_it():
    picture = draw_cohort(np.array([[RED, BLUE], [GREEN, WHITE]], dtype=float), PAPER)
    assert picture.shape == (2 * YARN, WIDTH, 3)
    for column, yarn, lab in ((0, 0, RED), (0, 1, BLUE), (1, 0, GREEN), (1, 1, WHITE)):
        part = picture[yarn * YARN : (yarn + 1) * YARN, column * COLUMN[1] :][:, : COLUMN[1]]
        level = np.rint(np.clip(lab_to_srgb(np.array(lab, dtype=float)), 0, 1) * 255)
        assert (part == level).all()
    assert (picture[:, 2 * COLUMN[1] :] == PAPER).all()


def test_more_palettes_than_a_row_holds_go_on_in_the_next():
    picture = draw_cohort(np.full((WIDTH // COLUMN[0] + 1, 1, 3), 50.0), PAPER)
    assert len(picture) == 2 * YARN + GAP


def test_of_too_many_some_are_drawn_evenly():
    rising = np.zeros((MOST * 3, 1, 3))
    rising[:, 0, 0] = np.linspace(0, 100, MOST * 3)
    picture = draw_cohort(rising, PAPER)
    assert len(picture) == 12 * (YARN + GAP) - GAP
    assert picture[0, 0].max() == 0
    assert picture[-1, -1].min() == 255
