"""Boxes proposed for the yarns of a photo."""

import numpy as np
import pytest

from palettes.colour.difference import delta_e_2000
from palettes.colour.light import Box
from palettes.colour.measure import measure_yarn
from palettes.colour.regions import propose_boxes, reduce_photo
from tests.core.photo_scenes import flat, yarn

COLOURS = [(28, 4, -22), (48, 42, 20), (62, -18, 34), (78, 6, 12), (40, 25, -30)]


def skeins():
    styles = ["semi-solid", "semi-solid", "semi-solid", "speckled", "semi-solid"]
    return [yarn(lab, style=styles[i], seed=i) for i, lab in enumerate(COLOURS)]


def five_skeins():
    """Return five skeins in a row on a pale table, with white paper at the right."""
    photo = flat((86, 1, 7), 400, 1400)
    for i, skein in enumerate(skeins()):
        photo[80:320, 20 + i * 260 : 260 + i * 260] = skein
    photo[20:380, 1330:1390] = flat((95, 0, 0), 360, 60)
    return photo


def test_each_skein_gets_a_box_and_its_own_colour():
    boxes = propose_boxes(five_skeins(), count=5, avoid=[Box(0.94, 0, 1, 1)])
    boxes.sort(key=lambda box: box.left)
    middles = [(box.left + box.right) / 2 for box in boxes]
    assert [round((x * 1400 - 140) / 260) for x in middles] == [0, 1, 2, 3, 4]
    for box, skein in zip(boxes, skeins(), strict=True):
        found = measure_yarn(five_skeins(), box).lab
        assert delta_e_2000(found, measure_yarn(skein, Box(0, 0, 1, 1)).lab) < 1.5


def test_the_same_photo_always_gives_the_same_boxes():
    assert propose_boxes(five_skeins()) == propose_boxes(five_skeins())


def test_one_colour_gives_one_box():
    assert len(propose_boxes(flat((50, 20, 20), 200, 300))) == 1


def test_what_is_marked_as_paper_is_not_offered():
    paper = Box(0.9, 0, 1, 1)
    for box in propose_boxes(five_skeins(), count=8, avoid=[paper]):
        assert box.right <= 0.91


@pytest.mark.parametrize("shape", [(1, 1), (1, 500), (4000, 3), (97, 96)])
def test_any_shape_can_be_reduced(shape):
    small = reduce_photo(np.full((*shape, 3), 0.5))
    assert max(small.shape) <= 97
    assert small == pytest.approx(0.5)


@pytest.mark.parametrize("style", ["speckled", "variegated"])
def test_a_skein_of_many_colours_gets_one_box_over_most_of_it(style):
    photo = flat((20, 0, 0), 400, 600)
    photo[60:300, 180:420] = yarn((66, 12, 18), style=style, seed=3)
    (box,) = propose_boxes(photo, count=5)
    assert (box.right - box.left) * 600 > 0.7 * 240
    assert (box.bottom - box.top) * 400 > 0.7 * 240


def test_skeins_that_touch_stay_apart():
    photo = flat((86, 1, 7), 400, 900)
    for place, lab in enumerate(COLOURS[:3]):
        photo[80:320, 90 + place * 240 : 330 + place * 240] = yarn(lab, seed=place)
    boxes = propose_boxes(photo, count=3)
    assert [round((box.left + box.right) * 450 - 210) // 240 for box in boxes] == [0, 1, 2]
