"""Boxes proposed for the yarns of a photo."""

import functools

import numpy as np
import pytest

from benchmarks.photo_regions import SURPLUS, score
from palettes.colour.difference import delta_e_2000
from palettes.colour.light import Box
from palettes.colour.measure import measure_yarn
from palettes.colour.regions import LONG_SIDE, propose_boxes, reduce_photo
from tests.core.photo_scenes import flat, yarn
from tests.core.yarn_scenes import KINDS, draw_scene

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
    small, roughness = reduce_photo(np.full((*shape, 3), 0.5))
    assert max(small.shape) <= LONG_SIDE
    assert small == pytest.approx(0.5)
    assert roughness == pytest.approx(0, abs=1e-6)
    assert roughness.shape == small.shape[:2]


def test_what_is_rough_is_told_from_what_is_smooth():
    """A check of 1 and 3 parts of light strays from its mean of 2 by half of it."""
    check = 0.1 + 0.2 * (np.indices((320, 320)).sum(axis=0) % 2)
    roughness = reduce_photo(np.repeat(check[..., np.newaxis], 3, axis=2))[1]
    assert roughness == pytest.approx(0.5)


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
    assert [round(((box.left + box.right) * 450 - 210) / 240) for box in boxes] == [0, 1, 2]


def test_a_pale_yarn_on_a_pale_table_is_found():
    """They are 6 CIEDE2000 apart, furrows and all, and light falls off by a fifth to the right."""
    photo = flat((85, 2, 8), 400, 900)
    photo[80:320, 90:330] = yarn((85, 6, 5), seed=1) / 0.85
    photo[80:320, 560:800] = yarn((40, 30, -10), seed=2)
    photo *= np.linspace(1, 0.8, 900)[:, np.newaxis]
    boxes = propose_boxes(photo, count=2)
    assert [round((box.left + box.right) * 450) for box in boxes] == pytest.approx(
        [210, 680], abs=9
    )


@pytest.mark.parametrize("white", [(95, 0, 0), (92, 1, 6)])
def test_paper_that_nobody_marked_comes_after_smaller_yarns(white):
    photo = flat((24, 2, 3), 400, 900)
    photo[80:320, 90:330] = yarn((60, 20, 10), seed=1)
    photo[80:320, 390:630] = yarn((88, 0, 4), seed=2)
    photo[20:380, 660:880] = flat(white, 360, 220)
    assert [round(box.right * 900) // 300 for box in propose_boxes(photo, count=2)] == [1, 2]


@pytest.mark.parametrize("noise", [0.0, 0.002, 0.01, 0.03])
def test_a_pale_yarn_as_smooth_as_paper_is_found_among_dark_ones(noise):
    """Noise is a larger share of little light, so the darks look rough beside it."""
    colours = ((94, 2, 4), (70, 8, 36), (38, 18, 24), (30, -6, -12), (10, 1, -3))
    photo = flat((80, 0, 4), 400, 1000)
    for place, lab in enumerate(colours):
        photo[60:340, 40 + 190 * place : 190 + 190 * place] = flat(lab, 280, 150)
    photo = np.clip(photo + np.random.default_rng(1).normal(0, noise, photo.shape), 0, 1)
    boxes = propose_boxes(photo, count=5)
    assert [round((box.left + box.right) * 500) for box in boxes] == pytest.approx(
        [115, 305, 495, 685, 875], abs=9
    )


def test_where_all_is_smooth_nothing_is_left_out_for_that():
    photo = flat((24, 2, 3), 400, 900)
    photo[80:320, 90:330] = flat((60, 20, 10), 240, 240)
    photo[80:320, 390:630] = flat((90, 0, 4), 240, 240)
    assert len(propose_boxes(photo, count=5)) == 2


def test_two_wraps_that_fill_a_photo_are_both_yarns():
    photo = np.hstack([yarn((40, 30, -10), seed=1), yarn((70, -10, 30), seed=2)])
    left, right = propose_boxes(photo, count=5)
    assert left.right < 0.5 < right.left


@pytest.fixture(scope="module")
def scene_of():
    return functools.cache(draw_scene)


@pytest.mark.parametrize("more", [0, SURPLUS])
@pytest.mark.parametrize(
    ("kind", "seed"),
    [
        (KINDS["skeins on a pale table, one as pale"], 2),
        (KINDS["skeins on wood, touching, aslant"], 0),
        (KINDS["wraps on a card on wood, touching"], 2),
    ],
)
def test_each_yarn_of_a_scene_gets_one_box_in_its_own_colour(scene_of, kind, seed, more):
    scene = scene_of(kind, seed)
    counts = score(scene, propose_boxes(scene.photo, count=scene.count + more))
    assert counts["right"] == counts["yarns"]
    assert more or counts["nothing"] == 0


def test_asking_for_more_moves_no_box():
    scene = draw_scene(KINDS["balls on wood"], 2)
    fewer, more = (propose_boxes(scene.photo, count=count) for count in (4, 12))
    assert len(fewer) == 4
    assert set(fewer) < set(more)


def test_a_photo_marked_all_over_has_no_yarns():
    assert propose_boxes(five_skeins(), avoid=[Box(0, 0, 1, 1)]) == []
