"""What the pattern core refuses. Messages quote the values and say what would do.

PatternError
    Told                those that people are shown, in the words of wording.py
        BadCount        stitches or rows that no knitting has
        BadRepeat       a stitch or row repeat that cannot be, or does not go into its rows
        BadWeighIn
            MoreLeftThanBought    more yarn left than there ever was
            MoreLeftThanBefore    more left than at an earlier weigh-in, and nothing bought since
            BadProgress           more knitted than the plan has
    RowOutOfRange       a row the pattern does not have, or a share outside 0 to 1
    BadGauge            a gauge or needle that is not above zero
    BadAmount           grams, metres or a reserve that cannot be
    UnknownLetter       a colour letter the plan does not have
    BadPace             a speed, or a time to measure it in, that is not above zero
"""

from typing import Final

from palettes.colour.amounts import scale_words
from palettes.colour.phrases import UNTRANSLATED, Translator
from palettes.colour.refusal import Refusal, word_refusal
from schedule.pattern.wording import REFUSALS

GRAMS: Final = {"left", "bought", "before", "grams", "total"}


class PatternError(ValueError):
    """Base class for every refusal of the pattern core. Raise a subclass."""


class Told(Refusal, PatternError):
    """Base class for what people are shown, `words` in their language. Raise a subclass."""

    phrases = REFUSALS


class BadCount(Told):
    """The stitches or rows are not a count that knitting can have."""


class BadRepeat(Told):
    """A repeat is none, or does not go into the rows of its section."""


class RowOutOfRange(PatternError):
    """The pattern has no such row, or the share is not between 0 and 1."""


class BadGauge(PatternError):
    """The gauge or needle is not a positive, finite number."""


class BadAmount(PatternError):
    """An amount of yarn is not one that can be."""


class UnknownLetter(PatternError):
    """The plan does not have this colour letter."""


class BadWeighIn(Told):
    """Base class for weigh-ins that cannot be true. Raise a subclass. Weights are in grams."""

    def words(self, to: Translator = UNTRANSLATED, *, imperial: bool = False) -> str:
        """Return one sentence in the reader's language and units."""
        weights = {
            key: scale_words(float(self.about[key]), to, imperial=imperial)
            for key in self.about.keys() & GRAMS
        }
        return word_refusal(self.phrases[self.name], {**self.about, **weights}, to)


class MoreLeftThanBought(BadWeighIn):
    """The yarn left is more than the yarn there ever was."""


class MoreLeftThanBefore(BadWeighIn):
    """The yarn left has grown without any having been bought."""


class BadProgress(BadWeighIn):
    """The progress is not between nothing and the whole of the plan."""


class BadPace(PatternError):
    """The speed, or what it is measured from, is not a positive, finite number."""
