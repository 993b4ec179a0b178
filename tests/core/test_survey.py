import numpy as np
import pytest

from palettes.colour.audit import audit
from palettes.colour.contrast import ACROSS_ROOM_M, ARMS_LENGTH_M, GRADES
from palettes.colour.ladder import LIGHTNESS_WORDS
from palettes.colour.spaces import Lab, srgb_to_lab
from palettes.colour.stripes import look_at, see
from palettes.colour.survey import CHUNK, TOLERANCE, survey
from palettes.colour.swatch import Fabric, Swatch
from palettes.colour.vision import look_deficient

FABRIC = Fabric(18, 30)


@pytest.fixture(scope="module")
def crowd():
    generator = np.random.default_rng(21)
    labs = srgb_to_lab(generator.uniform(0, 1, (60, 5, 3)))
    return labs, generator.uniform(0, 12, (60, 5))


def test_says_of_each_palette_what_its_own_audit_says(crowd):
    labs, textures = crowd
    together = survey(labs, textures, FABRIC, with_vision=True)
    for i, (colours, spreads) in enumerate(zip(labs.tolist(), textures.tolist(), strict=True)):
        palette = [
            Swatch("", Lab(*colour), spread)
            for colour, spread in zip(colours, spreads, strict=True)
        ]
        alone = audit(palette, fabric=FABRIC)
        pairs = sorted(alone.pairs, key=lambda pair: (pair.first, pair.second))
        assert together.delta_l[i] == pytest.approx([pair.delta_l for pair in pairs])
        assert together.delta_e[i] == pytest.approx([p.delta_e for p in pairs], abs=TOLERANCE)
        assert together.left[i] == pytest.approx([pair.left for pair in pairs], abs=TOLERANCE)
        assert [GRADES[grade] for grade in together.grades[i]] == [pair.grade for pair in pairs]
        assert GRADES[together.worst_grades[i]] is alone.pairs[0].grade
        assert together.greys[i] == alone.greys
        missing = [
            word for word, gone in zip(LIGHTNESS_WORDS, together.missing[i], strict=True) if gone
        ]
        assert tuple(missing) == alone.ladder.missing
        assert together.vision_left is not None
        # The audit's worst pair is worst by grade and then by what is left, so never below this.
        left = [worst.left for worst in alone.vision]
        assert (together.vision_left[i] <= np.array(left) + TOLERANCE).all()


def test_single_precision_stays_within_the_tolerance():
    """Over ten thousand random pairs, and what deficient eyes see of them."""
    generator = np.random.default_rng(22)
    labs = srgb_to_lab(generator.uniform(0, 1, (1000, 5, 3)))
    textures = generator.uniform(0, 12, (1000, 5))
    together = survey(labs, textures, FABRIC, with_vision=True)
    look = look_at(labs, textures, (ARMS_LENGTH_M, ACROSS_ROOM_M))
    seen, deficient = see([look, look_deficient(look, look.distances_m)], FABRIC)
    worst = deficient.left.min(axis=(0, 1)).reshape(3, -1).T
    assert together.delta_e == pytest.approx(seen.plain.T, abs=TOLERANCE)
    assert together.left == pytest.approx(seen.left.min(axis=0).T, abs=TOLERANCE)
    assert together.vision_left == pytest.approx(worst, abs=TOLERANCE)


def test_vision_is_worked_out_only_on_request(crowd):
    labs, textures = crowd
    assert survey(labs, textures, FABRIC).vision_left is None


def test_more_palettes_than_a_chunk_and_none_at_all(crowd):
    labs, textures = crowd
    few = survey(labs, textures, FABRIC)
    many = survey(np.repeat(labs, 40, axis=0), np.repeat(textures, 40, axis=0), FABRIC)
    assert len(many.left) > 2 * CHUNK
    assert many.left == pytest.approx(np.repeat(few.left, 40, axis=0))
    none = survey(np.empty((0, 5, 3)), np.empty((0, 5)), FABRIC)
    assert none.left.shape == (0, 10)
    assert none.greys.shape == (0,)
