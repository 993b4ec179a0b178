"""What the palettes app refuses, each with one sentence a person can act on.

PaletteError
    BadFibre           the fibre text cannot be read, or its shares pass 100 %
    PaletteClosed      the organiser has closed the palettes
    PaletteFull        as many yarns are chosen as the knit-along has colours
    TooManyCandidates  the palette holds as many yarns as it may
    YarnGone           a yarn to be chosen has been removed in the meantime
    PaletteIncomplete  something is missing before the palette can be registered
    TooManyPhotos      as many photos are kept as a participant may have
    TooManyMarks       as many boxes are marked in a photo as it may hold
    KitRefused         a kit is not in a state to be changed, proposed, decided on or adopted
    MarksUnfit         what is marked in a photo cannot go onto the yarns as it is
    PhotoRefused       the upload is not a photo that can be used; photos.py says why
"""


class PaletteError(ValueError):
    """Base class for every refusal of the palettes app. Raise a subclass."""


class BadFibre(PaletteError):
    """The fibre text cannot be read."""


class PaletteClosed(PaletteError):
    """The palettes of this knit-along can no longer be changed."""


class PaletteFull(PaletteError):
    """All of the knit-along's colours have a chosen yarn."""


class TooManyCandidates(PaletteError):
    """The palette holds as many yarns as it may."""


class YarnGone(PaletteError):
    """A yarn that was to be chosen is no longer there."""


class PaletteIncomplete(PaletteError):
    """Something is missing before the palette can be registered."""


class TooManyPhotos(PaletteError):
    """The participant keeps as many photos as they may."""


class PhotoRefused(PaletteError):
    """The upload cannot be used as a photo."""


class TooManyMarks(PaletteError):
    """The photo holds as many marked boxes as it may."""


class MarksUnfit(PaletteError):
    """What is marked cannot go onto the yarns as it is."""


class KitRefused(PaletteError):
    """The kit is not in a state for what was asked."""
