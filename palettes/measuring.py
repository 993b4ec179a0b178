"""A stored photo read by what is marked in it: the pixels meet the pure colour code here."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from io import BytesIO
from typing import Final

import numpy as np
from django.utils.translation import gettext_lazy as _
from numpy.typing import NDArray

from palettes.colour.light import (
    Box,
    Reference,
    StrongCast,
    TooDark,
    UnfitPhoto,
    apply_balance,
)
from palettes.colour.measure import Measurement
from palettes.colour.reading import White, judge_light, read_yarn
from palettes.colour.sight import Sight, picture_as_seen
from palettes.colour.spaces import Floats, linear_to_srgb
from palettes.models import AnyMark, AnyPhoto, Mark, Yarn
from palettes.models.named_yarn import NamedYarn
from palettes.models.yarn_facts import MeasuredBy
from palettes.photos import encode_webp, read_patch, read_reduced, read_texture, to_levels
from palettes.translator import READERS_LANGUAGE

# Our choice: 128 pixels show some twenty stitches, and a picture of a stripe needs no more.
TEXTURE_SIDE: Final = 128
WHOLE: Final = Box(0, 0, 1, 1)
STYLE_WORDS: Final = {
    "solid": _("one even colour"),
    "semi-solid": _("one colour, softly shaded"),
    "tonal": _("lighter and darker of one colour"),
    "speckled": _("an even ground with specks"),
    "variegated": _("several colours along the yarn"),
}


@dataclass(frozen=True, slots=True)
class MarkReading:
    """What a yarn's box measures, or the sentence that says why it cannot be measured."""

    measurement: Measurement | None
    problem: str = ""

    @property
    def found(self) -> Yarn | None:
        """The measurement as a yarn not stored, for its colour in words and on screen."""
        if self.measurement is None:
            return None
        return measured(Yarn(dye_style=self.measurement.dye_style), self.measurement)

    @property
    def style_words(self) -> str:
        """What the suggested dye style means to the eye."""
        return str(STYLE_WORDS[self.measurement.dye_style]) if self.measurement else ""


@dataclass(frozen=True, slots=True)
class PhotoReading:
    """A photo's marks as measured. With a problem of the light none of them has a colour."""

    light_problem: str
    can_be_trusted: bool
    """Whether the owner's word may overrule the problem: without a reference it is a guess."""
    marks: Mapping[int, MarkReading]


def read_marks(photo: AnyPhoto, marks: Iterable[AnyMark]) -> PhotoReading:
    """Return what the photo's light and each marked yarn measure; every refusal is a sentence."""
    marks = list(marks)
    pixels = pixels_of(photo)
    white = white_of(marks)
    try:
        matrix = judge_light(pixels, white=white, is_light_trusted=photo.is_light_trusted)
    except UnfitPhoto as unfit:
        is_guess = white is None and isinstance(unfit, TooDark | StrongCast)
        return PhotoReading(unfit.words(READERS_LANGUAGE), is_guess, {})
    yarns = [mark for mark in marks if mark.kind == Mark.Kind.YARN]
    readings = {
        mark.pk: _read_mark(pixels, mark, matrix, number)
        for number, mark in enumerate(yarns, start=1)
    }
    return PhotoReading("", False, readings)


def white_of(marks: Iterable[AnyMark]) -> White | None:
    """Return the reference among the marks, if one is marked."""
    for mark in marks:
        if mark.kind != Mark.Kind.YARN:
            return White(mark.box, Reference(mark.kind))
    return None


def pixels_of(photo: AnyPhoto) -> Floats:
    """Return the whole photo in linear light."""
    with photo.image.open("rb") as file:
        return read_patch(file, WHOLE)


def read_stored(webp: bytes) -> Floats:
    """Return a picture about to be stored in linear light, as it will be read back."""
    return read_patch(BytesIO(webp), WHOLE)


def measured[Y: NamedYarn](yarn: Y, measurement: Measurement) -> Y:
    """Return the yarn with its colour and spread set, not stored."""
    yarn.lab, yarn.spread = measurement.lab, measurement.spread
    yarn.measured_by = MeasuredBy.PHOTO
    return yarn


def view_of(photo: AnyPhoto, *, grey: bool) -> bytes:
    """Return the photo at half its size as WebP, in daylight by its reference, or in grey.

    Where the light cannot be judged it is shown as the camera gave it.
    """
    with photo.image.open("rb") as file:
        pixels = read_reduced(file)
    white = white_of(photo.marks.of_white())
    if white:
        try:
            pixels = apply_balance(pixels, judge_light(pixels, white=white))
        except UnfitPhoto:
            white = None
    seen = picture_as_seen(pixels, Sight.GREY) if grey else pixels
    return encode_webp(to_levels(linear_to_srgb(seen)))


def texture_of(yarn: Yarn, size: int) -> NDArray[np.uint8]:
    """Return `size` by `size` sRGB levels of a yarn's own photo, at the yarn's mean colour.

    For a yarn that `is_pictured`. A photo is its owner's own: callers show this to nobody else.
    """
    assert yarn.photo is not None, "Ask yarn.is_pictured first."
    assert yarn.region is not None
    with yarn.photo.image.open("rb") as file:
        return read_texture(file, yarn.region, size, lab=yarn.lab)


def _read_mark(pixels: Floats, mark: AnyMark, matrix: Floats, number: int) -> MarkReading:
    try:
        return MarkReading(read_yarn(pixels, mark.box, matrix, place=number))
    except UnfitPhoto as unfit:
        return MarkReading(None, unfit.words(READERS_LANGUAGE))
