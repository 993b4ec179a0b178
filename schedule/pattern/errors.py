"""What the pattern core refuses. Messages quote the values and say what would do.

PatternError
    BadCount            stitches or rows that no knitting has
    CountMismatch       one section ends on a count the next does not start with
    BadRepeat           a stitch or row repeat does not go into its section
    RowOutOfRange       a row the pattern does not have, or a share outside 0 to 1
    BadGauge            a gauge or needle that is not above zero
    BadAmount           grams, metres or a reserve that cannot be
    UnknownLetter       a colour letter the plan does not have
    BadWeighIn
        MoreLeftThanBought    more yarn left than there ever was
        MoreLeftThanBefore    more yarn left than at an earlier weigh-in, and nothing bought since
        BadProgress           more knitted than the plan has
    BadPace             a speed, or a time to measure it in, that is not above zero
"""


class PatternError(ValueError):
    """Base class for every refusal of the pattern core. Raise a subclass."""


class BadCount(PatternError):
    """The stitches or rows are not a count that knitting can have."""


class CountMismatch(PatternError):
    """A section does not start with the stitches that the one before it leaves."""


class BadRepeat(PatternError):
    """A repeat does not go into the stitches or rows of its section."""


class RowOutOfRange(PatternError):
    """The pattern has no such row, or the share is not between 0 and 1."""


class BadGauge(PatternError):
    """The gauge or needle is not a positive, finite number."""


class BadAmount(PatternError):
    """An amount of yarn is not one that can be."""


class UnknownLetter(PatternError):
    """The plan does not have this colour letter."""


class BadWeighIn(PatternError):
    """Base class for weigh-ins that cannot be true. Raise a subclass."""


class MoreLeftThanBought(BadWeighIn):
    """The yarn left is more than the yarn there ever was."""


class MoreLeftThanBefore(BadWeighIn):
    """The yarn left has grown without any having been bought."""


class BadProgress(BadWeighIn):
    """The progress is not between nothing and the whole of the plan."""


class BadPace(PatternError):
    """The speed, or what it is measured from, is not a positive, finite number."""
