"""How an audit is put into words: findings, verdict, grades, schemes and lightness.

The one home of what an audit says; the findings' own sentences are in sentences.py. Everything
takes a `Translator`, see phrases.py.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from palettes.colour.amounts import distance_words, length_words, need_words, weight_words
from palettes.colour.audit import Audit, Verdict
from palettes.colour.colour_rules import BUSY_FROM, CALM_BELOW
from palettes.colour.contrast import (
    ACROSS_ROOM_M,
    CLOSE_FROM,
    STRONG_FROM,
    WORKABLE_FROM,
    Grade,
)
from palettes.colour.families import Family
from palettes.colour.finding import Finding, Numbers
from palettes.colour.ladder import DARK_BELOW, GREY_STEP, LIGHT_FROM, LightnessWord
from palettes.colour.phrases import UNTRANSLATED, Translator, fill, join_names, sentence, whole
from palettes.colour.phrases import gettext_noop as _
from palettes.colour.quantities import TIGHT_MARGIN
from palettes.colour.schemes import Scheme
from palettes.colour.sentences import TEMPLATES

TASTE_NOTE: Final = _("Fine if you like it that way.")

VERDICTS: Final[Mapping[Verdict, str]] = {
    Verdict.READY: _("This palette works."),
    Verdict.LOOK_AGAIN: _("This palette works, with something to look at again."),
    Verdict.RETHINK: _("Something here needs mending before you cast on."),
}

GRADE_NAMES: Final[Mapping[Grade, str]] = {
    Grade.STRONG: _("strong"),
    Grade.WORKABLE: _("workable"),
    Grade.CLOSE: _("close"),
    Grade.LOST: _("lost"),
}

GRADES: Final[Mapping[Grade, str]] = {
    Grade.STRONG: _("reads from across a room at a glance"),
    Grade.WORKABLE: _("reads from across a room"),
    Grade.CLOSE: _("reads in the hand, blends across a room"),
    Grade.LOST: _("has to be searched for"),
}

SCHEMES: Final[Mapping[Scheme, str]] = {
    Scheme.NEUTRAL: _("neutral"),
    Scheme.ACCENTED_NEUTRAL: _("neutrals with accents"),
    Scheme.MONOCHROMATIC: _("monochromatic"),
    Scheme.ANALOGOUS: _("analogous"),
    Scheme.COMPLEMENTARY: _("complementary"),
    Scheme.SPLIT_COMPLEMENTARY: _("split complementary"),
    Scheme.TRIADIC: _("triadic"),
    Scheme.TWO_HUES: _("two hues"),
    Scheme.POLYCHROME: _("polychrome"),
}

LIGHTNESS: Final[Mapping[LightnessWord, str]] = {
    "light": _("light"),
    "medium": _("medium"),
    "dark": _("dark"),
}

FAMILIES: Final[Mapping[Family, str]] = {
    Family.RED: _("red"),
    Family.PINK: _("pink"),
    Family.ORANGE: _("orange"),
    Family.YELLOW: _("yellow"),
    Family.GREEN: _("green"),
    Family.TEAL: _("teal"),
    Family.BLUE: _("blue"),
    Family.PURPLE: _("purple"),
    Family.BROWN: _("brown"),
    Family.NEUTRAL: _("neutral"),
}

# The words of `families.shade_of` that are no family's.
NEUTRAL_SHADES: Final = (_("white"), _("cream"), _("beige"), _("grey"), _("black"))

# What every sentence may quote besides the finding's own numbers.
_BOUNDS: Final[Mapping[str, int]] = {
    "close_from": round(CLOSE_FROM),
    "workable_from": round(WORKABLE_FROM),
    "strong_from": round(STRONG_FROM),
    "grey_step": round(GREY_STEP),
    "light_from": round(LIGHT_FROM),
    "dark_below": round(DARK_BELOW),
    "busy_from": round(BUSY_FROM),
    "calm_below": round(CALM_BELOW),
    "tight_margin": round(TIGHT_MARGIN * 100),
}

# An angle that is over a bound must not be said to be on it.
_ROUND_UP: Final = frozenset({"arc"})


@dataclass(frozen=True, slots=True)
class Words:
    """A finding in plain words; `taste_note` is empty unless it is a matter of taste."""

    what: str
    why: str
    try_this: str
    taste_note: str

    @property
    def taste(self) -> bool:
        """Whether it is fine if the knitter likes it that way."""
        return bool(self.taste_note)


def colour_words(
    lightness: LightnessWord, families: Sequence[str], shade: str, to: Translator = UNTRANSLATED
) -> str:
    """Return a colour in words, like 'dark blue, near purple' or 'light neutral, cream'.

    `families` are its families' names, nearest first; `shade` is what `families.shade_of` says.
    """
    first, *others = families
    values = {"lightness": to.gettext(LIGHTNESS[lightness]), "family": to.gettext(first)}
    words = fill(_("{lightness} {family}"), values, to)
    if shade != first:
        words = fill(_("{colour}, {shade}"), {"colour": words, "shade": to.gettext(shade)}, to)
    for other in others:
        words = fill(
            _("{colour}, near {family}"), {"colour": words, "family": to.gettext(other)}, to
        )
    return words


def describe(
    finding: Finding,
    names: Sequence[str],
    to: Translator = UNTRANSLATED,
    *,
    imperial: bool = False,
) -> Words:
    """Return a finding in words; `names` are the palette's yarns and then its spares.

    A yarn without a name is called by its number. `imperial` says ounces, yards and feet instead
    of grams and metres. KeyError when the code has no words, which a test rules out.
    """
    template = TEMPLATES[finding.code]
    values = _values(finding, names, to, imperial=imperial)
    return Words(
        sentence(template.what, values, to),
        sentence(template.why, values, to),
        sentence(template.try_this, values, to),
        to.gettext(TASTE_NOTE) if template.taste else "",
    )


def summarise(audit: Audit, to: Translator = UNTRANSLATED) -> str:
    """Return the verdict as one sentence."""
    return to.gettext(VERDICTS[audit.verdict])


def _values(
    finding: Finding, names: Sequence[str], to: Translator, *, imperial: bool
) -> dict[str, object]:
    called = [_name(names, position, to) for position in finding.yarns]
    numbers = {key: _whole(key, number) for key, number in finding.numbers.items()}
    values: dict[str, object] = {**_BOUNDS, **numbers, "yarns": join_names(called, to)}
    # {yarns} is the list of names, so a count of yarns among the numbers answers to another word.
    values["yarns_count"] = numbers.get("yarns", len(called))
    values["first"], values["second"] = (*called, "", "")[:2]
    values["room"] = distance_words(ACROSS_ROOM_M, to, imperial=imperial)
    if finding.code == "yarn_short":
        needs = need_words, _amounts(finding.numbers, "_needed")
        missing = weight_words, _amounts(finding.numbers, "")
        for key, (weigh, (grams, metres)) in (("needed", needs), ("missing", missing)):
            weight = [weigh(grams, to, imperial=imperial)] if grams else []
            length = [length_words(metres, to, imperial=imperial)] if metres else []
            values[key] = join_names([*weight, *length], to)
    return values


def _amounts(numbers: Numbers, suffix: str) -> tuple[float, float]:
    """Return the grams and the metres of a finding, what is needed or what is missing."""
    return float(numbers[f"grams{suffix}"]), float(numbers[f"metres{suffix}"])


def _whole(key: str, number: float | str) -> float | str:
    """Return the number as a sentence says it, on the side of a bound where it really is."""
    if isinstance(number, str):
        return number
    return math.ceil(number) if key in _ROUND_UP else whole(number)


def _name(names: Sequence[str], position: int, to: Translator) -> str:
    name = names[position].strip() if position < len(names) else ""
    return name or fill(_("yarn {number}"), {"number": position + 1}, to)
