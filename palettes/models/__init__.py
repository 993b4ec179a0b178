"""Rows of the palettes app, one file a subject."""

from palettes.models.gallery import GalleryEntry
from palettes.models.kit import Kit, KitMaker, KitYarn
from palettes.models.kit_photo import AnyMark, AnyPhoto, KitMark, KitPhoto
from palettes.models.mark import Mark
from palettes.models.palette import Palette
from palettes.models.photo import Photo
from palettes.models.registration import RegisteredYarn, Registration, Run
from palettes.models.yarn import Yarn

__all__ = [
    "AnyMark",
    "AnyPhoto",
    "GalleryEntry",
    "Kit",
    "KitMaker",
    "KitMark",
    "KitPhoto",
    "KitYarn",
    "Mark",
    "Palette",
    "Photo",
    "RegisteredYarn",
    "Registration",
    "Run",
    "Yarn",
]
