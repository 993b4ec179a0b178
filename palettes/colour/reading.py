"""A whole photo read at once: its light judged and balanced, its yarns found and measured."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from palettes.colour.light import (
    Box,
    Reference,
    apply_balance,
    balance_matrix,
    check_not_clipped,
    check_without_reference,
    crop,
)
from palettes.colour.measure import Measurement, measure_pixels
from palettes.colour.regions import propose_boxes
from palettes.colour.spaces import Floats


@dataclass(frozen=True, slots=True)
class White:
    """What the participant marked as white paper or grey card, and where."""

    box: Box
    kind: Reference = Reference.PAPER


@dataclass(frozen=True, slots=True)
class FoundYarn:
    """One yarn of a photo: where it is and what it measures."""

    box: Box
    measurement: Measurement


def find_yarns(photo: Floats, *, count: int, white: White | None = None) -> list[Box]:
    """Return up to `count` boxes proposed for the yarns of a linear-light photo."""
    return propose_boxes(photo, count=count, avoid=[white.box] if white else [])


def read_yarns(
    photo: Floats,
    boxes: Sequence[Box],
    *,
    white: White | None = None,
    is_light_trusted: bool = False,
) -> list[FoundYarn]:
    """Return the measurement of each box of a linear-light sRGB photo, balanced by `white`.

    Without a reference the light itself is judged first, unless the participant vouches for it.
    Raises BadBox, ClippedPhoto, TooDark, UnevenLight or StrongCast.
    """
    matrix = judge_light(photo, white=white, is_light_trusted=is_light_trusted)
    return [
        FoundYarn(box, read_yarn(photo, box, matrix, place=place))
        for place, box in enumerate(boxes, start=1)
    ]


def judge_light(
    photo: Floats, *, white: White | None = None, is_light_trusted: bool = False
) -> Floats:
    """Return the matrix that balances the photo: the identity where no reference is marked.

    Raises BadBox, ClippedPhoto, TooDark, UnevenLight or StrongCast.
    """
    if white:
        return balance_matrix(photo, white.box, white.kind)
    if not is_light_trusted:
        check_without_reference(photo)
    return np.eye(3)


def read_yarn(photo: Floats, box: Box, matrix: Floats, *, place: int) -> Measurement:
    """Return the measurement of one box; BadBox or ClippedPhoto, which names the yarn's place."""
    pixels = crop(photo, box)
    # Clipping is what the camera did, so it is looked for before the balance.
    check_not_clipped(pixels, "yarn-burnt-out", number=place)
    return measure_pixels(apply_balance(pixels, matrix))
