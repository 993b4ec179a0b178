"""A stored photo read by what is marked in it: the pixels meet the pure colour code here."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from palettes.models import Yarn
from palettes.photos import read_texture

# Our choice: 128 pixels show some twenty stitches, and a picture of a stripe needs no more.
TEXTURE_SIDE: Final = 128


def texture_of(yarn: Yarn, size: int) -> NDArray[np.uint8]:
    """Return `size` by `size` sRGB levels of a yarn's own photo, at the yarn's mean colour.

    For a yarn that `is_pictured`. A photo is its owner's own: callers show this to nobody else.
    """
    assert yarn.photo is not None, "Ask yarn.is_pictured first."
    assert yarn.region is not None
    with yarn.photo.image.open("rb") as file:
        return read_texture(file, yarn.region, size, lab=yarn.lab)
