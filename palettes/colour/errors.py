"""What the colour core refuses. Messages quote the value and say what would do.

ColourError
    BadHexColour   the text is not a #rrggbb colour
    BadLab         the numbers are not a CIE L*a*b* colour
    BadFabric      a gauge that no knitting has
    BadSwatch      a yarn with an impossible spread, fibre share or put-up
    BadQuantity    grams, metres or balls that are not positive amounts
    BadShortlist   a choice that cannot be made out of the candidates
    BadMeeting     letters that cannot meet, or cannot be given a yarn
    TooFewYarns    fewer yarns than the question needs
    TooManyYarns   more yarns than the question allows
"""


class ColourError(ValueError):
    """Base class for every refusal of the colour core. Raise a subclass."""


class BadHexColour(ColourError):
    """The text is not a #rrggbb colour."""


class BadLab(ColourError):
    """The numbers are not a CIE L*a*b* colour."""


class BadFabric(ColourError):
    """The gauge is not one that knitting can have."""


class BadSwatch(ColourError):
    """The yarn has an impossible spread, fibre share or put-up."""


class BadQuantity(ColourError):
    """An amount of yarn is not a positive, finite number."""


class TooFewYarns(ColourError):
    """The question needs more yarns than were given."""


class TooManyYarns(ColourError):
    """The question allows fewer yarns than were given."""


class BadShortlist(ColourError):
    """The choice cannot be made: how many to choose, or which are locked, does not fit."""


class BadMeeting(ColourError):
    """A meeting, letter or fixed yarn does not fit the letters and yarns given."""
