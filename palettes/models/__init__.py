"""Rows of the palettes app, one file a subject."""

from palettes.models.palette import Palette
from palettes.models.photo import Photo
from palettes.models.registration import RegisteredYarn, Registration
from palettes.models.yarn import Yarn

__all__ = ["Palette", "Photo", "RegisteredYarn", "Registration", "Yarn"]
