"""The one home of the words for an audit's findings.

Plain templates keyed by code, so that a translation is one more table. `{first}` and `{second}`
are the finding's first two yarns, `{yarns}` all of them, and the rest are its numbers.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from palettes.colour.audit import Audit, Verdict
from palettes.colour.colour_rules import BUSY_FROM, CALM_BELOW
from palettes.colour.contrast import (
    ACROSS_ROOM_M,
    CLOSE_FROM,
    STRONG_FROM,
    WORKABLE_FROM,
    Grade,
)
from palettes.colour.finding import Finding, Numbers
from palettes.colour.ladder import DARK_BELOW, GREY_STEP, LIGHT_FROM
from palettes.colour.quantities import ounces_from_grams, yards_from_metres
from palettes.colour.schemes import Scheme

TASTE_NOTE = "Fine if you like it that way."


@dataclass(frozen=True, slots=True)
class Words:
    """A finding in plain words; `taste` asks for `TASTE_NOTE` after them."""

    what: str
    why: str
    try_this: str
    taste: bool

    @property
    def taste_note(self) -> str:
        """The sentence that leaves a matter of taste to the knitter, else ''."""
        return TASTE_NOTE if self.taste else ""


class Template(NamedTuple):
    """The words of one code, with places for yarns and numbers."""

    what: str
    why: str
    try_this: str
    taste: bool = False


# What every template may quote besides the finding's own numbers.
_BOUNDS: Mapping[str, int] = {
    "close_from": round(CLOSE_FROM),
    "workable_from": round(WORKABLE_FROM),
    "strong_from": round(STRONG_FROM),
    "room": round(ACROSS_ROOM_M),
    "grey_step": round(GREY_STEP),
    "light_from": round(LIGHT_FROM),
    "dark_below": round(DARK_BELOW),
    "busy_from": round(BUSY_FROM),
    "calm_below": round(CALM_BELOW),
}

# An angle that is over a bound must not be said to be on it.
_ROUND_UP = frozenset({"arc"})

TEMPLATES: Mapping[str, Template] = {
    "pair_lost": Template(
        "{first} and {second} lose each other.",
        "In two-row stripes a contrast of {left_at_arm} is left at arm's length; under "
        "{close_from} the stripe has to be searched for. Their lightness differs by "
        "{delta_l} of 100.",
        "Make one of the two clearly lighter or darker: {grey_step} of 100 is the least that "
        "tells, twice that is comfortable.",
    ),
    "pair_close": Template(
        "{first} and {second} are close.",
        "A contrast of {left} lasts across a room ({room} m); from {workable_from} a "
        "stripe reads there. In the hand it is {left_in_hand}.",
        "Keep them for places seen up close, or make one of them lighter or darker.",
        taste=True,
    ),
    "pair_hidden": Template(
        "The speckles of {first} and {second} hide the stripe between them.",
        "Their mean colours differ by {delta_e}, but the colour changes inside the yarns take "
        "{hidden} of it away and leave {left_at_arm} at arm's length.",
        "Put a calmer yarn beside the busy one, or a wider difference in lightness.",
        taste=True,
    ),
    "more_close_pairs": Template(
        "{count} more of the {pairs} pairs are close or lost.",
        "They are in the pair table, closest first.",
        "One yarn much lighter or darker than the rest mends several pairs at once.",
        taste=True,
    ),
    "hue_only": Template(
        "{first} and {second} differ in hue and hardly in lightness.",
        "They are {delta_l} of 100 apart in lightness, so a greyscale photo would call them "
        "lost, yet the contrast is {left_in_hand} in the hand. Hue fades before lightness: "
        "{left_across_room} is left across a room.",
        "Use them where the fabric is looked at closely, or make one of them lighter.",
        taste=True,
    ),
    "all_read": Template(
        "Every pair reads.",
        "The closest, {first} and {second}, keeps a contrast of {left} across a room; "
        "{workable_from} is workable and {strong_from} strong.",
        "Nothing to mend here.",
    ),
    "all_strong": Template(
        "Every pair is strong.",
        "Even the closest, {first} and {second}, keeps a contrast of {left} across a room; "
        "{strong_from} is strong.",
        "Nothing to mend here.",
    ),
    "no_light": Template(
        "There is no light yarn.",
        "None reaches a lightness of {light_from} of 100. The palette spans {reach}.",
        "A pale yarn lets the others show: undyed, cream, or a pale tint of a colour you have.",
        taste=True,
    ),
    "no_medium": Template(
        "There is no medium yarn.",
        "None lies between {dark_below} and {light_from} of 100 in lightness, so the "
        "palette jumps from dark to light.",
        "A medium yarn joins the two ends, if you want a softer change.",
        taste=True,
    ),
    "no_dark": Template(
        "There is no dark yarn.",
        "None falls under a lightness of {dark_below} of 100. The palette spans {reach}.",
        "A dark yarn gives outlines and depth: navy, bottle green, charcoal, deep brown.",
        taste=True,
    ),
    "full_ladder": Template(
        "There is a light, a medium and a dark.",
        "From {first} to {second} the lightness spans {reach} of 100.",
        "Nothing to mend here.",
    ),
    "few_greys": Template(
        "A greyscale photo would show {greys} of the {yarns_count} yarns as different.",
        "Yarns within {grey_step} of 100 in lightness look like one grey.",
        "Spread them out: one darker, one lighter.",
        taste=True,
    ),
    "no_calm": Template(
        "{busy} of the {yarns_count} yarns are busy and none is calm.",
        "A yarn whose colours stray {busy_from} or more from their mean is busy; under "
        "{calm_below} it is calm and gives the eye somewhere to rest.",
        "Change one for a solid or semi-solid in a colour that the busy ones share.",
        taste=True,
    ),
    "vision_protan": Template(
        "{first} and {second} come close for somebody without red cones.",
        "Simulated, a contrast of {left} is left across a room; {workable_from} reads.",
        "A difference in lightness is seen by everybody; hue alone is not.",
    ),
    "vision_deutan": Template(
        "{first} and {second} come close for somebody without green cones.",
        "Simulated, a contrast of {left} is left across a room; {workable_from} reads.",
        "A difference in lightness is seen by everybody; hue alone is not.",
    ),
    "vision_tritan": Template(
        "{first} and {second} come close for somebody without blue cones.",
        "Simulated, a contrast of {left} is left across a room; {workable_from} reads. "
        "This deficiency is rare.",
        "A difference in lightness is seen by everybody; hue alone is not.",
    ),
    "yarn_short": Template(
        "Not enough of {first} for colour {letter}.",
        "The pattern takes {needed}; {missing} missing.",
        "Get {balls} more {ball_word}, of the same dye lot if you can.",
    ),
    "yarn_tight": Template(
        "{first} is only just enough for colour {letter}.",
        "What you have is {margin} % over the need, and knitters' gauge varies by more.",
        "Weigh your swatch, or keep one more ball in reserve.",
    ),
    "yarn_unknown": Template(
        "The amount of {yarns} could not be checked.",
        "The grams or metres of a ball, or the number of balls, are not filled in.",
        "Copy them from the ball band.",
    ),
    "yarn_enough": Template(
        "There is enough of every colour.",
        "All {letters} letters are covered with 5 % or more to spare.",
        "Nothing to buy.",
    ),
    "care_hand": Template(
        "The yarns are not washed alike.",
        "{yarns} must be washed by hand, so the whole piece must.",
        "Wash to the most delicate yarn, or keep to yarns that share a wash.",
        taste=True,
    ),
    "care_dry_clean": Template(
        "The yarns are not washed alike.",
        "{yarns} must be dry cleaned, so the whole piece must.",
        "Clean to the most delicate yarn, or keep to yarns that share a wash.",
        taste=True,
    ),
    "felting": Template(
        "Superwash and ordinary wool are together.",
        "{yarns} can felt and shrink when warm, wet and rubbed; the superwash beside it will not, "
        "and the fabric puckers.",
        "Wash cool by hand without rubbing, and swatch both together before casting on.",
    ),
    "fibres_mixed": Template(
        "The yarns are of different kinds of fibre.",
        "Animal, plant and synthetic fibres stretch, block and wear differently; "
        "{kinds} kinds are together here.",
        "Swatch them together, wash and block the swatch, and follow the gentlest ball band.",
        taste=True,
    ),
    "bleeding": Template(
        "{first} could bleed into {second}.",
        "It is dark (lightness {dark_l}) and saturated (chroma {dark_chroma}), and such "
        "dye sometimes runs onto a pale yarn (lightness {pale_l}).",
        "Before casting on, soak a strand of each in lukewarm water with a drop of wool wash, on "
        "white cloth. If colour runs, rinse that yarn alone until it stops, in gloves if your "
        "skin is sensitive, and follow the dyer's own advice.",
    ),
    "swap": Template(
        "The one swap that helps most: {second} in place of {first}.",
        "The closest pair would go from a contrast of {left_before} to {left_after}.",
        "Try it in the palette; you can change it back.",
        taste=True,
    ),
    "scheme_neutral": Template(
        "The scheme is neutral.",
        "No yarn has enough chroma to name a hue.",
        "Lightness and texture do all the work; check the ladder.",
        taste=True,
    ),
    "scheme_accented_neutral": Template(
        "The scheme is neutrals with accents.",
        "{neutrals} yarns are neutral and the rest carry the colour.",
        "Place the accents where the eye should go.",
        taste=True,
    ),
    "scheme_monochromatic": Template(
        "The scheme is monochromatic.",
        "Every coloured yarn lies within {arc} degrees of the colour wheel: one hue.",
        "Lightness must tell the yarns apart; check the ladder.",
        taste=True,
    ),
    "scheme_analogous": Template(
        "The scheme is analogous.",
        "The coloured yarns are neighbours, within {arc} degrees of the colour wheel.",
        "Calm by nature; a little of an opposite hue would wake it up.",
        taste=True,
    ),
    "scheme_complementary": Template(
        "The scheme is complementary.",
        "The coloured yarns form two groups on opposite sides of the colour wheel.",
        "Opposites compete when equal in amount; let one of them lead.",
        taste=True,
    ),
    "scheme_split_complementary": Template(
        "The scheme is split complementary.",
        "One hue faces two neighbours on the far side of the colour wheel.",
        "The single hue works best as the accent.",
        taste=True,
    ),
    "scheme_triadic": Template(
        "The scheme is triadic.",
        "Three hues divide the colour wheel into about equal parts.",
        "Let one lead and the other two follow.",
        taste=True,
    ),
    "scheme_two_hues": Template(
        "The scheme is two hues.",
        "The coloured yarns form two groups, neither neighbours nor opposites.",
        "A neutral between them keeps the peace.",
        taste=True,
    ),
    "scheme_polychrome": Template(
        "The scheme is polychrome.",
        "The hues spread over {arc} degrees of the colour wheel.",
        "Repeat each colour at least twice, so that none looks like an accident.",
        taste=True,
    ),
}

VERDICTS: Mapping[Verdict, str] = {
    Verdict.READY: "This palette works.",
    Verdict.LOOK_AGAIN: "This palette works, with something to look at again.",
    Verdict.RETHINK: "Something here needs mending before you cast on.",
}

GRADES: Mapping[Grade, str] = {
    Grade.STRONG: "reads from across a room at a glance",
    Grade.WORKABLE: "reads from across a room",
    Grade.CLOSE: "reads in the hand, blends across a room",
    Grade.LOST: "has to be searched for",
}

SCHEMES: Mapping[Scheme, str] = {
    Scheme.NEUTRAL: "neutral",
    Scheme.ACCENTED_NEUTRAL: "neutrals with accents",
    Scheme.MONOCHROMATIC: "monochromatic",
    Scheme.ANALOGOUS: "analogous",
    Scheme.COMPLEMENTARY: "complementary",
    Scheme.SPLIT_COMPLEMENTARY: "split complementary",
    Scheme.TRIADIC: "triadic",
    Scheme.TWO_HUES: "two hues",
    Scheme.POLYCHROME: "polychrome",
}


def describe(
    finding: Finding,
    names: Sequence[str],
    translate: Callable[[str], str] = str,
    *,
    imperial: bool = False,
) -> Words:
    """Return a finding in words; `names` are the palette's yarns and then its spares.

    A yarn without a name is called by its number. `translate` is given each template before it
    is filled; `imperial` says ounces and yards instead of grams and metres. KeyError when the
    code has no words, which a test rules out.
    """
    template = TEMPLATES[finding.code]
    values = _values(finding, names, imperial=imperial)

    def fill(text: str) -> str:
        # Capitalised after filling: a yarn's own name may open the sentence in lower case.
        filled = translate(text).format_map(values)
        return filled[:1].upper() + filled[1:]

    return Words(fill(template.what), fill(template.why), fill(template.try_this), template.taste)


def summarise(audit: Audit) -> str:
    """Return the verdict as one sentence."""
    return VERDICTS[audit.verdict]


def join_names(names: Sequence[str]) -> str:
    """Return names as a person lists them: 'A', 'A and B', 'A, B and C'."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def _values(finding: Finding, names: Sequence[str], *, imperial: bool) -> dict[str, object]:
    called = [_name(names, position) for position in finding.yarns]
    numbers = {key: _whole(key, number) for key, number in finding.numbers.items()}
    values: dict[str, object] = {**_BOUNDS, **numbers, "yarns": join_names(called)}
    # {yarns} is the list of names, so a count of yarns among the numbers answers to another word.
    values["yarns_count"] = numbers.get("yarns", len(called))
    values["first"], values["second"] = (*called, "", "")[:2]
    if finding.code == "yarn_short":
        values["ball_word"] = "ball" if numbers["balls"] == 1 else "balls"
        values["needed"] = " and ".join(_amounts(finding.numbers, "_needed", imperial=imperial))
        missing = _amounts(finding.numbers, "", imperial=imperial)
        values["missing"] = f"{' and '.join(missing)} {'is' if len(missing) == 1 else 'are'}"
    return values


def _amounts(numbers: Numbers, suffix: str, *, imperial: bool) -> list[str]:
    """Return the weight and the length, those above 0, with units.

    Rounded up, so that buying the amount named is enough.
    """
    grams, metres = (float(numbers[f"{what}{suffix}"]) for what in ("grams", "metres"))
    if imperial:
        ounces, yards = ounces_from_grams(grams), yards_from_metres(metres)
        tenths = math.ceil(ounces * 10) / 10
        return [
            text
            for text, amount in ((f"{tenths:g} oz", ounces), (f"{math.ceil(yards)} yd", yards))
            if amount
        ]
    return [
        f"{math.ceil(amount)} {unit}" for amount, unit in ((grams, "g"), (metres, "m")) if amount
    ]


def _whole(key: str, number: float | str) -> float | str:
    """Return the number as a sentence says it, on the side of a bound where it really is."""
    if isinstance(number, str):
        return number
    return math.ceil(number) if key in _ROUND_UP else math.floor(number)


def _name(names: Sequence[str], position: int) -> str:
    name = names[position].strip() if position < len(names) else ""
    return name or f"yarn {position + 1}"
