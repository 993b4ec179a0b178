"""The light of a photo: whether colours can be read from it, and white balance by a reference.

Photos come as linear-light sRGB arrays (rows, columns, 3) with white at 1; boxes are fractions
of the width and height. Refusals say what is wrong with the light and what to do about it, in the
words of light_wording.py.
"""

from dataclasses import asdict, dataclass
from enum import StrEnum
from typing import Self

import numpy as np

from palettes.colour.errors import ColourError
from palettes.colour.light_wording import REFUSALS
from palettes.colour.refusal import Refusal
from palettes.colour.spaces import (
    D65_WHITE,
    LINEAR_TO_XYZ,
    XYZ_TO_LINEAR,
    Floats,
    adaptation_matrix,
    linear_to_xyz,
    xyz_to_lab,
)


class UnfitPhoto(Refusal, ColourError):
    """Base class for why a photo cannot be measured as it is marked. Raise a subclass."""

    phrases = REFUSALS


class BadLight(UnfitPhoto):
    """Base class for light in which colours cannot be trusted. Raise a subclass."""


class BadBox(UnfitPhoto):
    """The marked box is not inside the photo, or holds too few pixels."""


class ClippedPhoto(BadLight):
    """The lightest parts are burnt out, so their colour is gone."""


class TooDark(BadLight):
    """There is too little light for the colour to be told."""


class UnevenLight(BadLight):
    """One side of the reference is lit more than the other."""


class StrongCast(BadLight):
    """The light itself looks coloured, and nothing in the photo says how much."""


class Reference(StrEnum):
    """What the marked reference is."""

    PAPER = "paper"
    GREY_CARD = "grey-card"


# Luminance factors. Uncoated white paper is near L* 95 (ISO 12647-2 paper types, from memory);
# a photographer's grey card reflects 18 % (common practice).
REFERENCE_Y = {Reference.PAPER: 0.876, Reference.GREY_CARD: 0.18}

# An 8-bit camera file saturates at 255; the last few levels are already bent by its tone curve.
# Our choice: 0.98 of full scale, and at most this share of a box at or above it. A hundredth of
# clipped pixels moves a mean by about 1 CIEDE2000 at most (docs/photos.md).
CLIP_LEVEL = 0.98
MAX_CLIPPED_SHARE = 0.01
# Our choice: below this linear luminance white paper is three stops under, and a dark yarn beside
# it is left with a dozen of the 256 levels.
MIN_WHITE_Y = 0.11
# Our choice: brightest over dimmest ninth of the reference. 1.2 is 6 L* across white paper, so
# a yarn at either end is off by up to 3 from one in the middle.
MAX_UNEVENNESS = 1.2
# Our choice, between daylight (D50 seen as D65: chroma 17) and a lamp (illuminant A: 55). Casts
# lie along the locus of lamps and skies; outside those hues it is the yarn that is colourful.
MAX_CAST_CHROMA = 25.0
CAST_HUES = ((50.0, 100.0), (240.0, 300.0))
MINKOWSKI_NORM = 6
# Pixels, our choice: so many along the long side give both statistics to a hundredth or better.
JUDGED_SIDE = 800
MIN_BOX_PIXELS = 64


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in a photo: fractions of its width and height, the origin at the top left."""

    left: float
    top: float
    right: float
    bottom: float

    def __post_init__(self) -> None:
        inside = 0 <= self.left < self.right <= 1 and 0 <= self.top < self.bottom <= 1
        if not inside:
            raise BadBox("outside-photo", **asdict(self))

    def holds_middle_of(self, other: Self) -> bool:
        """Return whether the middle of another box lies in this one."""
        across, down = (other.left + other.right) / 2, (other.top + other.bottom) / 2
        return self.left <= across <= self.right and self.top <= down <= self.bottom


def crop(photo: Floats, box: Box) -> Floats:
    """Return the pixels of `photo` inside `box`; BadBox when there are fewer than 64."""
    rows, columns = photo.shape[:2]
    left, right = round(box.left * columns), round(box.right * columns)
    top, bottom = round(box.top * rows), round(box.bottom * rows)
    if (right - left) * (bottom - top) < MIN_BOX_PIXELS:
        raise BadBox("few-pixels", columns=right - left, rows=bottom - top)
    return photo[top:bottom, left:right]


def luminance(linear: Floats) -> Floats:
    """Return the relative luminance Y in 0..1 of linear-light sRGB."""
    return np.asarray(linear @ LINEAR_TO_XYZ[1])


def check_not_clipped(pixels: Floats, refusal: str, **about: int) -> None:
    """Raise ClippedPhoto, under the name `refusal`, when too many of `pixels` are burnt out.

    That is, have a channel at the end of its scale.
    """
    level = ((CLIP_LEVEL + 0.055) / 1.055) ** 2.4
    share = float((pixels >= level).any(axis=-1).mean())
    if share > MAX_CLIPPED_SHARE:
        raise ClippedPhoto(refusal, share=round(100 * share), **about)


def balance_matrix(photo: Floats, box: Box, kind: Reference = Reference.PAPER) -> Floats:
    """Return the 3 by 3 matrix that makes the marked reference neutral and rightly light.

    To be applied to linear-light sRGB as `photo @ matrix.T`. Linear Bradford adaptation from the
    reference's colour to D65, scaled to the reference's luminance factor. Raises ClippedPhoto,
    TooDark, UnevenLight or BadBox.
    """
    pixels = crop(photo, box)
    name = "paper" if kind is Reference.PAPER else "card"
    check_not_clipped(pixels, f"{name}-burnt-out")
    seen = pixels.reshape(-1, 3).mean(axis=0)
    expected = REFERENCE_Y[kind]
    if luminance(seen) < MIN_WHITE_Y * expected / REFERENCE_Y[Reference.PAPER]:
        raise TooDark(f"{name}-dark", share=round(100 * float(luminance(seen))))
    _check_even(pixels, f"{name}-uneven")
    white = linear_to_xyz(seen)
    matrix = XYZ_TO_LINEAR @ adaptation_matrix(white / white[1], D65_WHITE) @ LINEAR_TO_XYZ
    return np.asarray(matrix * (expected / white[1]))


def _check_even(pixels: Floats, refusal: str) -> None:
    thirds = [
        luminance(part).mean()
        for band in np.array_split(pixels, 3, axis=0)
        for part in np.array_split(band, 3, axis=1)
    ]
    unevenness = max(thirds) / min(thirds)
    if unevenness > MAX_UNEVENNESS:
        raise UnevenLight(refusal, share=round(100 * (float(unevenness) - 1)))


def check_without_reference(photo: Floats) -> None:
    """Refuse a photo too dark or too strongly tinted to be read with nothing white in it.

    The light's colour is estimated by the Minkowski mean of order 6: Finlayson & Trezzi (2004),
    "Shades of gray and colour constancy", Color and Imaging Conference 12, 37-41 (from memory).
    Raises TooDark or StrongCast.
    """
    step = max(1, max(photo.shape[:2]) // JUDGED_SIDE)
    pixels = photo[::step, ::step].reshape(-1, 3)
    bright = float(np.percentile(luminance(pixels), 99))
    if bright < MIN_WHITE_Y:
        raise TooDark("photo-dark", share=round(100 * bright))
    cast = np.mean(np.maximum(pixels, 0) ** MINKOWSKI_NORM, axis=0) ** (1 / MINKOWSKI_NORM)
    _, a, b = xyz_to_lab(linear_to_xyz(cast / cast.max()))
    chroma, hue = float(np.hypot(a, b)), float(np.degrees(np.arctan2(b, a)) % 360)
    tinted = any(low <= hue <= high for low, high in CAST_HUES)
    if tinted and chroma > MAX_CAST_CHROMA:
        raise StrongCast("leans-orange" if hue < 180 else "leans-blue")


def apply_balance(photo: Floats, matrix: Floats) -> Floats:
    """Return the photo under D65: every linear pixel times `matrix`, never below 0."""
    return np.maximum(photo @ matrix.T, 0)
