"""The one home of the words for a shortlist's aims and reasons.

Plain templates keyed by code, so that a translation is one more table. `{first}` and `{second}`
are the reason's first two yarns, `{yarns}` all of them, `{instead_of}` those they replace.
"""

import math
from collections.abc import Callable, Mapping, Sequence

from palettes.colour.contrast import ACROSS_ROOM_M, STRONG_FROM, WORKABLE_FROM
from palettes.colour.shortlist import Aim, Reason
from palettes.colour.wording import join_names

AIMS: Mapping[Aim, str] = {
    Aim.CONTRAST: "The clearest contrast",
    Aim.ONE_FAMILY: "One family, in different lightness",
    Aim.ACCENTED_NEUTRALS: "Neutrals with one or two accents",
    Aim.SOFT: "Soft colours, pale or muted",
    Aim.BOLD: "Bold, vivid colours",
}

_BOUNDS: Mapping[str, int] = {
    "strong_from": round(STRONG_FROM),
    "workable_from": round(WORKABLE_FROM),
    "room": round(ACROSS_ROOM_M),
}

TEMPLATES: Mapping[str, str] = {
    "closest_strong": "Every pair is strong: the closest, {first} and {second}, keeps a contrast "
    "of {left} across a room ({room} m); {strong_from} is strong.",
    "closest_workable": "Every pair reads: the closest, {first} and {second}, keeps a contrast "
    "of {left} across a room ({room} m); {workable_from} is workable.",
    "closest_close": "{first} and {second} are close: a contrast of {left} is left across a room "
    "({room} m); {workable_from} is workable.",
    "closest_lost": "{first} and {second} lose each other: a contrast of {left} is left across a "
    "room ({room} m).",
    "ladder_full": "It has a light, a medium and a dark yarn.",
    "ladder_lacks": "It has no {missing} yarn.",
    "family_one": "All {of} are {family}, or so near that they pass for it.",
    "family_mixed": "{count} of the {of} are {family}; {yarns} stand apart.",
    "family_none": "No family leads: the candidates hold too few of one kind that also read.",
    "accents_few": "{neutrals} neutrals, with {yarns} for accent.",
    "accents_many": "{accents} colours beside {neutrals} neutrals: {yarns} are more than accents.",
    "accents_none": "All {neutrals} are neutrals, without an accent.",
    "soft_all": "All {of} are pale or muted.",
    "soft_some": "{soft} of the {of} are pale or muted; {yarns} stand out.",
    "bold_some": "{bold} of the {of} are vivid: {yarns}.",
    "bold_none": "None of the {of} is vivid.",
    "instead": "Compared with the first set: {yarns} instead of {instead_of}.",
}

# Said of one yarn alone, where the sentence above needs several.
SINGULAR: Mapping[str, str] = {
    "family_mixed": "{count} of the {of} are {family}; {yarns} stands apart.",
    "accents_many": "{yarns} is more than an accent beside {neutrals} neutral.",
    "soft_some": "{soft} of the {of} are pale or muted; {yarns} stands out.",
}


def say(reason: Reason, names: Sequence[str], translate: Callable[[str], str] = str) -> str:
    """Return the reason as a sentence; `names` are the candidates'.

    `translate` is given the template before it is filled. KeyError when the code has no words,
    which a test rules out.
    """
    called = [names[yarn] for yarn in reason.yarns]
    template = TEMPLATES[reason.code]
    if len(called) == 1:
        template = SINGULAR.get(reason.code, template)
    filled = translate(template).format_map(
        {
            **_BOUNDS,
            **{key: _whole(number) for key, number in reason.numbers.items()},
            "first": called[0] if called else "",
            "second": called[1] if len(called) > 1 else "",
            "yarns": join_names(called),
            "instead_of": join_names([names[yarn] for yarn in reason.instead_of]),
        }
    )
    return filled[:1].upper() + filled[1:]


def _whole(number: float | str) -> float | str:
    # Rounded down, so that what falls short of a bound never reads as reaching it.
    return number if isinstance(number, str) else math.floor(number)
