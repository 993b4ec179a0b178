"""What a palette looks like to people with a colour vision deficiency."""

from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from palettes.colour.spaces import Floats, lab_to_linear, linear_to_lab


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

_EVERY_KIND = np.stack([MATRICES[kind] for kind in Deficiency])


def simulate(lab: ArrayLike, kind: Deficiency | str) -> Floats:
    """Return L*a*b* as somebody with this deficiency sees it: (..., 3) -> (..., 3).

    Applied to linear-light sRGB, which is what the matrices' derivation assumes, and clipped to
    0..1 afterwards: a third of vivid colours would otherwise leave the gamut.
    """
    seen = lab_to_linear(lab) @ MATRICES[Deficiency(kind)].T
    return linear_to_lab(np.clip(seen, 0, 1))


def simulate_every_kind(lab: ArrayLike) -> Floats:
    """Return `simulate` for protan, deutan and tritan at once: (n, 3) -> (3, n, 3)."""
    seen = lab_to_linear(lab) @ np.swapaxes(_EVERY_KIND, 1, 2)
    return linear_to_lab(np.clip(seen, 0, 1))
