"""The audit's verdict on the colours of many palettes at once, out of a survey.

It follows the audit's rules of contrast, lightness and calm, and a test holds the two together.
Colour vision, amounts and washing are left out: they are for each palette's own page.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from palettes.colour.audit import Verdict
from palettes.colour.colour_rules import BUSY_FROM, CALM_BELOW, ENOUGH_GREYS
from palettes.colour.contrast import GRADES, Grade
from palettes.colour.spaces import Floats
from palettes.colour.survey import Survey

VERDICTS: Final = tuple(Verdict)  # from ready to rethink


def verdicts(found: Survey, textures: Floats) -> NDArray[np.int8]:
    """Return positions in `VERDICTS`: (palettes,); `textures` as they were surveyed."""
    worst = found.worst_grades
    caution = (
        (worst == GRADES.index(Grade.CLOSE))
        | lacks_an_end(found, textures.shape[1])
        | has_few_greys(found, textures.shape[1])
        | lacks_calm(textures)
    )
    judged = np.where(caution, VERDICTS.index(Verdict.LOOK_AGAIN), VERDICTS.index(Verdict.READY))
    lost = worst == GRADES.index(Grade.LOST)
    return np.where(lost, VERDICTS.index(Verdict.RETHINK), judged).astype(np.int8)


def lacks_an_end(found: Survey, yarns: int) -> NDArray[np.bool_]:
    """Return whether a light or a dark is missing: (palettes,); two yarns need neither."""
    missing = found.missing[:, [0, 2]].any(axis=1)
    return np.asarray(missing & (yarns >= ENOUGH_GREYS))


def has_few_greys(found: Survey, yarns: int) -> NDArray[np.bool_]:
    return np.asarray(found.greys < min(yarns, ENOUGH_GREYS))


def lacks_calm(textures: Floats) -> NDArray[np.bool_]:
    """Return whether at least half the yarns are busy and none is calm: (palettes,)."""
    busy = (textures >= BUSY_FROM).sum(axis=1)
    calm = (textures < CALM_BELOW).any(axis=1)
    return np.asarray((2 * busy >= textures.shape[1]) & ~calm)
