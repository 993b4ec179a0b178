"""The verdict of many palettes at once is that of each audit, as far as colours alone decide it."""

import numpy as np
import pytest

from palettes.colour.audit import Verdict, audit
from palettes.colour.finding import Severity
from palettes.colour.spaces import Lab
from palettes.colour.survey import survey
from palettes.colour.swatch import Fabric, Swatch
from palettes.colour.verdicts import VERDICTS, verdicts

CODES = {
    *("pair_lost", "pair_close", "pair_hidden", "more_close_pairs"),
    *("no_light", "no_dark", "few_greys", "no_calm"),
}


def by_audit(labs, textures) -> Verdict:
    swatches = [
        Swatch("yarn", Lab(*lab), spread=texture)
        for lab, texture in zip(labs, textures, strict=True)
    ]
    found = {one.severity for one in audit(swatches).findings if one.code in CODES}
    if Severity.PROBLEM in found:
        return Verdict.RETHINK
    return Verdict.LOOK_AGAIN if Severity.CAUTION in found else Verdict.READY


@pytest.mark.parametrize("yarns", [2, 3, 5, 8])
def test_agrees_with_the_audit(yarns):
    dice = np.random.default_rng(yarns)
    labs = dice.normal((55, 0, 0), (22, 25, 25), (150, yarns, 3))
    labs[..., 0] = np.clip(labs[..., 0], 5, 97)
    # An even ladder is rare by chance, and it is the one with nothing against it.
    labs[:60, :, 0] = np.linspace(15, 92, yarns)
    textures = dice.uniform(0.5, 12, (150, yarns))
    textures[:60] = 2.0
    got = [VERDICTS[place] for place in verdicts(survey(labs, textures, Fabric()), textures)]
    expected = [
        by_audit(*palette) for palette in zip(labs.tolist(), textures.tolist(), strict=True)
    ]
    assert got == expected
    assert len(set(got)) > 1
