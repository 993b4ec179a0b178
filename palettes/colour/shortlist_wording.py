"""The one home of the words for a shortlist's aims and reasons.

Templates keyed by code, marked for translation as phrases.py says. `{first}` and `{second}` are
the reason's first two yarns, `{yarns}` all of them, `{named}` how many those are, and
`{instead_of}` those they replace.
"""

from collections.abc import Mapping, Sequence

from palettes.colour.amounts import distance_words
from palettes.colour.contrast import ACROSS_ROOM_M, STRONG_FROM, WORKABLE_FROM
from palettes.colour.families import Family
from palettes.colour.phrases import (
    UNTRANSLATED,
    Phrase,
    Translator,
    fill,
    join_names,
    ngettext_lazy,
    sentence,
    whole,
)
from palettes.colour.phrases import gettext_noop as _
from palettes.colour.shortlist import Aim, Reason
from palettes.colour.wording import FAMILIES, LIGHTNESS

AIMS: Mapping[Aim, str] = {
    Aim.CONTRAST: _("The clearest contrast"),
    Aim.ONE_FAMILY: _("One family, in different lightness"),
    Aim.ACCENTED_NEUTRALS: _("Neutrals with one or two accents"),
    Aim.SOFT: _("Soft colours, pale or muted"),
    Aim.BOLD: _("Bold, vivid colours"),
}

_BOUNDS: Mapping[str, int] = {
    "strong_from": round(STRONG_FROM),
    "workable_from": round(WORKABLE_FROM),
}

TEMPLATES: Mapping[str, Phrase] = {
    "closest_strong": _(
        "Every pair is strong: the closest, {first} and {second}, keeps a contrast of "
        "{left} across a room ({room}); {strong_from} is strong."
    ),
    "closest_workable": _(
        "Every pair reads: the closest, {first} and {second}, keeps a contrast of {left} "
        "across a room ({room}); {workable_from} is workable."
    ),
    "closest_close": _(
        "{first} and {second} are close: a contrast of {left} is left across a room "
        "({room}); {workable_from} is workable."
    ),
    "closest_lost": _(
        "{first} and {second} lose each other: a contrast of {left} is left across a room ({room})."
    ),
    "ladder_full": _("It has a light, a medium and a dark yarn."),
    "ladder_lacks": _("It has no {missing} yarn."),
    "family_one": _("All {of} are {family}, or so near that they pass for it."),
    "family_mixed": ngettext_lazy(
        "{count} of the {of} are {family}; {yarns} stands apart.",
        "{count} of the {of} are {family}; {yarns} stand apart.",
        "named",
    ),
    "family_none": _("No family leads: the candidates hold too few of one kind that also read."),
    "accents_few": _("{neutrals} neutrals, with {yarns} for accent."),
    "accents_many": ngettext_lazy(
        "{yarns} is more than an accent beside {neutrals} neutral.",
        "{accents} colours beside {neutrals} neutrals: {yarns} are more than accents.",
        "named",
    ),
    "accents_none": _("All {neutrals} are neutrals, without an accent."),
    "soft_all": _("All {of} are pale or muted."),
    "soft_some": ngettext_lazy(
        "{soft} of the {of} are pale or muted; {yarns} stands out.",
        "{soft} of the {of} are pale or muted; {yarns} stand out.",
        "named",
    ),
    "bold_some": ngettext_lazy(
        "{bold} of the {of} is vivid: {yarns}.", "{bold} of the {of} are vivid: {yarns}.", "bold"
    ),
    "bold_none": _("None of the {of} is vivid."),
    "instead": _("Compared with the first set: {yarns} instead of {instead_of}."),
}


_EITHER = _("{one} or {other}")


def say(
    reason: Reason,
    names: Sequence[str],
    to: Translator = UNTRANSLATED,
    *,
    imperial: bool = False,
) -> str:
    """Return the reason as a sentence; `names` are the candidates'.

    KeyError when the code has no words, which a test rules out.
    """
    called = [names[yarn] for yarn in reason.yarns]
    values = {
        **_BOUNDS,
        **{key: _word(key, number, to) for key, number in reason.numbers.items()},
        "room": distance_words(ACROSS_ROOM_M, to, imperial=imperial),
        "first": called[0] if called else "",
        "second": called[1] if len(called) > 1 else "",
        "yarns": join_names(called, to),
        "named": len(called),
        "instead_of": join_names([names[yarn] for yarn in reason.instead_of], to),
    }
    return sentence(TEMPLATES[reason.code], values, to)


def _word(key: str, number: float | str, to: Translator) -> float | str:
    if key == "family":
        return to.gettext(FAMILIES[Family(str(number))])
    if key == "missing":
        words = [to.gettext(LIGHTNESS[word]) for word in LIGHTNESS if word in str(number).split()]
        first, *more = words
        return fill(_EITHER, {"one": first, "other": more[0]}, to) if more else first
    return number if isinstance(number, str) else whole(number)
