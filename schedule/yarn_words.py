"""Grams, intervals and what they rest on, in words and in the reader's units."""

from decimal import Decimal

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kal.units import length_text, weight_text
from schedule.models import WeighIn
from schedule.pattern.forecast import Forecast, Ground, Level
from schedule.pattern.yarn import Basis, Scaling, Source

LEVEL_NAMES: dict[Level, Promise] = {
    Level.ENOUGH: gettext_lazy("enough"),
    Level.WATCH: gettext_lazy("watch it"),
    Level.SHORT: gettext_lazy("likely short"),
}
GROUND_WORDS: dict[Ground, Promise] = {
    Ground.OWN: gettext_lazy(
        "It rests on your own weigh-ins of this colour, steadied by those of everybody."
    ),
    Ground.OTHER_LETTERS: gettext_lazy(
        "It rests on your other colours; this one has not been knitted far enough to tell."
    ),
    Ground.CROWD: gettext_lazy("It rests on what others have weighed."),
    Ground.TOO_EARLY: gettext_lazy(
        "It rests on the numbers of the pattern alone; too little of this colour is knitted yet "
        "for your weigh-in to tell."
    ),
    Ground.PLAN: gettext_lazy(
        "It rests on the numbers of the pattern alone; nobody has weighed yet."
    ),
}
SOURCE_WORDS: dict[Source, Promise] = {
    Source.TEST_KNIT: gettext_lazy("the test knit"),
    Source.SWATCH: gettext_lazy("a swatch"),
    Source.STITCH_SIZE: gettext_lazy("counted stitches at the gauge"),
    Source.ASKED: gettext_lazy("what is asked for"),
}
SCALING_WORDS: dict[Scaling, Promise] = {
    Scaling.GAUGE: gettext_lazy("scaled to your gauge"),
    Scaling.NEEDLE: gettext_lazy("scaled to your needle"),
}


def level_words(mine: Forecast) -> str:
    """Return the level in a word or two; what only weighing can tell is to be weighed."""
    if mine.level is Level.WATCH and not mine.is_worry:
        return _("weigh it")
    return str(LEVEL_NAMES[mine.level])


def weight(grams: float, *, imperial: bool) -> str:
    """Return '42 g' or '1.5 oz', as near as an estimate is worth."""
    return weight_text(Decimal(grams if imperial else round(grams)), imperial=imperial)


def weight_as_given(grams: float | Decimal, *, imperial: bool) -> str:
    """Return '48.5 g' or '1.7 oz': what a scale showed or a pattern states, to a tenth."""
    return weight_text(Decimal(grams), imperial=imperial)


def weight_range(low: float, high: float, *, imperial: bool) -> str:
    """Return '38 to 53 g', or '4 g' where both ends round to it."""
    first, last = weight(low, imperial=imperial), weight(high, imperial=imperial)
    if first == last:
        return last
    return _("%(low)s to %(high)s") % {"low": first.split("\N{NO-BREAK SPACE}")[0], "high": last}


def length(metres: float | Decimal, *, imperial: bool) -> str:
    return length_text(Decimal(metres), imperial=imperial)


def basis_words(basis: Basis) -> str:
    """Return what an estimate rests on, like 'the test knit, scaled to your gauge'."""
    words = [str(SOURCE_WORDS[basis.source])]
    if basis.scaling in SCALING_WORDS:
        words.append(str(SCALING_WORDS[basis.scaling]))
    return ", ".join(words)


def place_words(weigh_in: WeighIn) -> str:
    """Return where in the pattern a weigh-in was made, as 'clue 2, row 20'."""
    if weigh_in.clue is None:
        return _("before casting on")
    values = {"number": weigh_in.clue.number, "row": weigh_in.row or 0}
    if weigh_in.row is not None:
        return _("clue %(number)d, row %(row)d") % values
    if weigh_in.share == 1:
        return _("end of clue %(number)d") % values
    percent = round(100 * weigh_in.share)
    return _("%(percent)d %% of clue %(number)d") % (values | {"percent": percent})
