import numpy as np
import pytest
from coloraide import Color

from palettes.colour.difference import delta_e_2000
from palettes.colour.planes import lab_to_light, light_to_lab
from palettes.colour.spaces import Lab, hex_to_lab, lab_to_srgb, srgb_to_lab
from palettes.colour.vision import MATRICES, Deficiency, simulate, simulate_every_kind
from tests import reference
from tests.yardsticks import colour_science

KINDS = list(Deficiency)


@pytest.mark.parametrize("kind", KINDS)
def test_matrices_are_the_authors_table(kind):
    """Machado, Oliveira & Fernandes (2009), severity 1, and colour-science's copy of it."""
    published = reference.document("cvd.json")["matrices"][kind.value]
    assert MATRICES[kind].tolist() == published
    theirs = colour_science.CVD_MATRICES_MACHADO2010[
        {"protan": "Protanomaly", "deutan": "Deuteranomaly", "tritan": "Tritanomaly"}[kind.value]
    ][1.0]
    assert MATRICES[kind] == pytest.approx(np.array(theirs), abs=1e-6)


@pytest.mark.parametrize("kind", KINDS)
def test_agrees_with_coloraide_on_random_colours(kind):
    """coloraide's 'machado' filter works on linear sRGB; its result is clipped here as ours is."""
    colours = np.random.default_rng(11).uniform(0, 1, (150, 3))
    theirs = []
    for rgb in colours.tolist():
        seen = Color("srgb", rgb).filter(kind.value, 1, space="srgb-linear", method="machado")
        theirs.append(np.clip(seen.convert("srgb").coords(), 0, 1))
    ours = lab_to_srgb(simulate(srgb_to_lab(colours), kind))
    assert ours == pytest.approx(np.array(theirs), abs=1e-6)


@pytest.mark.parametrize("kind", KINDS)
def test_greys_stay_greys(kind):
    greys = srgb_to_lab(np.linspace(0, 1, 12)[:, np.newaxis] * np.ones(3))
    assert simulate(greys, kind) == pytest.approx(greys, abs=1e-3)


def test_red_and_green_come_together_without_red_or_green_cones():
    red, green = hex_to_lab("#b5533c"), hex_to_lab("#7a7a1f")
    plain = delta_e_2000(red, green)
    for kind in (Deficiency.PROTAN, Deficiency.DEUTAN):
        one, other = simulate([red, green], kind).tolist()
        assert delta_e_2000(Lab(*one), Lab(*other)) < plain / 2


def test_every_kind_at_once_is_each_kind_alone():
    labs = [hex_to_lab(text) for text in ("#b5533c", "#1f6f8b", "#f3efe6")]
    light = lab_to_light(np.array(labs).T)
    together = light_to_lab(simulate_every_kind(light[..., np.newaxis]).reshape(3, -1))
    for i, kind in enumerate(Deficiency):
        assert pytest.approx(simulate(labs, kind), abs=1e-9) == together[:, i::3].T


def test_a_kind_may_be_given_by_name_and_no_other_name():
    assert simulate([[50, 0, 0]], "tritan").shape == (1, 3)
    with pytest.raises(ValueError, match="is not a valid Deficiency"):
        simulate([[50, 0, 0]], "mono")
