"""What a palette looks like to people with a colour vision deficiency."""

from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from palettes.colour.planes import LIGHT_TO_LINEAR, LINEAR_TO_LIGHT, light_to_lab, turn
from palettes.colour.spaces import AnyFloats, Floats, lab_to_linear, linear_to_lab
from palettes.colour.stripes import Look


class Deficiency(StrEnum):
    """Which of the three kinds of cone is missing."""

    PROTAN = "protan"
    DEUTAN = "deutan"
    TRITAN = "tritan"


# Machado, Oliveira & Fernandes (2009), IEEE TVCG 15(6), doi:10.1109/TVCG.2009.113, severity 1,
# the authors' table; see fixtures/reference/cvd.json. Tritan is an approximation, they say.
MATRICES = {
    Deficiency.PROTAN: np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    Deficiency.DEUTAN: np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    Deficiency.TRITAN: np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}

# (output component, kind, input component), so that one product does all three kinds.
_EVERY_KIND = np.stack([MATRICES[kind] for kind in Deficiency], axis=1)
_LIGHT_TO_SEEN = (_EVERY_KIND @ LIGHT_TO_LINEAR).reshape(-1, 3)


def simulate(lab: ArrayLike, kind: Deficiency | str) -> Floats:
    """Return L*a*b* as somebody with this deficiency sees it: (..., 3) -> (..., 3).

    Applied to linear-light sRGB, which is what the matrices' derivation assumes, and clipped to
    0..1 afterwards: a third of vivid colours would otherwise leave the gamut.
    """
    seen = lab_to_linear(lab) @ MATRICES[Deficiency(kind)].T
    return linear_to_lab(np.clip(seen, 0, 1))


def simulate_every_kind(light: AnyFloats) -> AnyFloats:
    """Return light, see planes.py, as protan, deutan and tritan eyes have it.

    (3, n, palettes) -> (3, n, 3 palettes), kind by kind; otherwise as `simulate`.
    """
    seen = np.maximum(np.minimum(turn(_LIGHT_TO_SEEN, light.reshape(3, -1)), 1), 0)
    planes = turn(LINEAR_TO_LIGHT, seen.reshape(3, -1))
    by_kind = planes.reshape(3, len(Deficiency), *light.shape[1:])
    return np.swapaxes(by_kind, 1, 2).reshape(*light.shape[:2], -1)


def look_deficient(look: Look, distances_m: tuple[float, ...]) -> Look:
    """Return a look at the same palettes with each kind of deficient eyes, one after the other."""
    light = simulate_every_kind(look.light)
    lab = light_to_lab(light.reshape(3, -1)).reshape(light.shape)
    textures = np.concatenate([look.textures] * len(Deficiency), axis=1)
    return Look(lab, light, textures, distances_m)
