"""The ways of looking at colours that a page offers: in colour, in grey, or with fewer cones."""

from enum import StrEnum
from typing import Final

import numpy as np

from palettes.colour.spaces import Floats, Lab, as_lab, linear_to_xyz
from palettes.colour.vision import MATRICES, Deficiency, simulate


class Sight(StrEnum):
    """How colours are looked at; the last three as in `vision.Deficiency`."""

    COLOUR = "colour"
    GREY = "grey"
    PROTAN = "protan"
    DEUTAN = "deutan"
    TRITAN = "tritan"


SIGHTS: Final = tuple(Sight)


def as_seen(lab: Lab, sight: Sight) -> Lab:
    """Return the colour that somebody who looks so would match it with."""
    if sight is Sight.COLOUR:
        return lab
    if sight is Sight.GREY:
        return Lab(lab.l, 0.0, 0.0)
    return as_lab(simulate(np.array(lab), Deficiency(sight.value)))


def picture_as_seen(picture: Floats, sight: Sight) -> Floats:
    """Return a picture in linear-light sRGB, 0..1, as `as_seen` has each of its colours."""
    if sight is Sight.COLOUR:
        return picture
    if sight is Sight.GREY:
        return in_grey(picture)
    return np.asarray(np.clip(picture @ MATRICES[Deficiency(sight.value)].T, 0, 1))


def in_grey(picture: Floats) -> Floats:
    """Return a picture in neutral greys of the same lightness, in linear light."""
    luminance = linear_to_xyz(picture)[..., 1:2]
    return np.repeat(np.clip(luminance, 0, 1), 3, axis=-1)
