"""The words of every finding: what, why with its numbers, and what to try.

`{first}` and `{second}` are the finding's first two yarns, `{yarns}` all of them; the rest are its
numbers, and the bounds that `wording.py` fills in.
"""

from collections.abc import Mapping
from typing import Final, NamedTuple

from palettes.colour.phrases import Phrase, ngettext_lazy
from palettes.colour.phrases import gettext_noop as _


class Template(NamedTuple):
    """The words of one code; `taste` adds that it is fine if liked that way."""

    what: Phrase
    why: Phrase
    try_this: Phrase
    taste: bool = False


TEMPLATES: Final[Mapping[str, Template]] = {
    "pair_lost": Template(
        _("{first} and {second} lose each other."),
        _(
            "In two-row stripes a contrast of {left_at_arm} is left at arm's length; under "
            "{close_from} the stripe has to be searched for. Their lightness differs by "
            "{delta_l} of 100."
        ),
        _(
            "Make one of the two clearly lighter or darker: {grey_step} of 100 is the least "
            "that tells, twice that is comfortable."
        ),
    ),
    "pair_close": Template(
        _("{first} and {second} are close."),
        _(
            "A contrast of {left} lasts across a room ({room}); from {workable_from} a stripe"
            " reads there. In the hand it is {left_in_hand}."
        ),
        _("Keep them for places seen up close, or make one of them lighter or darker."),
        taste=True,
    ),
    "pair_hidden": Template(
        _("Colours that change inside the yarns hide the stripe between {first} and {second}."),
        _(
            "Their mean colours differ by {delta_e}, but the changes inside the yarns "
            "take {hidden} of it away and leave {left_at_arm} at arm's length."
        ),
        _("Put a calmer yarn beside the busy one, or a wider difference in lightness."),
        taste=True,
    ),
    "more_close_pairs": Template(
        ngettext_lazy(
            "{count} more of the {pairs} pairs is close or lost.",
            "{count} more of the {pairs} pairs are close or lost.",
            "count",
        ),
        ngettext_lazy(
            "It is in the pair table.", "They are in the pair table, closest first.", "count"
        ),
        _("One yarn much lighter or darker than the rest mends several pairs at once."),
        taste=True,
    ),
    "hue_only": Template(
        _("{first} and {second} differ in hue and hardly in lightness."),
        _(
            "They are {delta_l} of 100 apart in lightness, so a greyscale photo would call them"
            " lost, yet the contrast is {left_in_hand} in the hand. Hue fades before lightness:"
            " {left_across_room} is left across a room."
        ),
        _("Use them where the fabric is looked at closely, or make one of them lighter."),
        taste=True,
    ),
    "all_read": Template(
        _("Every pair reads."),
        _(
            "The closest, {first} and {second}, keeps a contrast of {left} across a room; "
            "{workable_from} is workable and {strong_from} strong."
        ),
        _("Nothing to mend here."),
    ),
    "all_strong": Template(
        _("Every pair is strong."),
        _(
            "Even the closest, {first} and {second}, keeps a contrast of {left} across a room; "
            "{strong_from} is strong."
        ),
        _("Nothing to mend here."),
    ),
    "no_light": Template(
        _("There is no light yarn."),
        _(
            "None reaches a lightness of {light_from} of 100. Darkest to lightest, "
            "the palette spans {reach}."
        ),
        _("A pale yarn lets the others show: undyed, cream, or a pale tint of a colour you have."),
        taste=True,
    ),
    "no_medium": Template(
        _("There is no medium yarn."),
        _(
            "None lies between {dark_below} and {light_from} of 100 in lightness, so the "
            "palette jumps from dark to light."
        ),
        _("A medium yarn joins the two ends, if you want a softer change."),
        taste=True,
    ),
    "no_dark": Template(
        _("There is no dark yarn."),
        _(
            "None falls under a lightness of {dark_below} of 100. Darkest to lightest, "
            "the palette spans {reach}."
        ),
        _("A dark yarn gives outlines and depth: navy, bottle green, charcoal, deep brown."),
        taste=True,
    ),
    "full_ladder": Template(
        _("There is a light, a medium and a dark."),
        _("From {first} to {second} the lightness spans {reach} of 100."),
        _("Nothing to mend here."),
    ),
    "few_greys": Template(
        ngettext_lazy(
            "A greyscale photo would show the {yarns_count} yarns as one grey.",
            "A greyscale photo would show {greys} of the {yarns_count} yarns as different.",
            "greys",
        ),
        _("Yarns within {grey_step} of 100 in lightness look like one grey."),
        _("Spread them out: one darker, one lighter."),
        taste=True,
    ),
    "no_calm": Template(
        ngettext_lazy(
            "{busy} of the {yarns_count} yarns is busy and none is calm.",
            "{busy} of the {yarns_count} yarns are busy and none is calm.",
            "busy",
        ),
        _(
            "A yarn whose colours stray {busy_from} or more from their mean is busy; under "
            "{calm_below} it is calm and gives the eye somewhere to rest."
        ),
        _("Change one for a solid or semi-solid in a colour that the busy ones share."),
        taste=True,
    ),
    "vision_protan": Template(
        _("{first} and {second} run together for somebody without red cones."),
        _(
            "Simulated, a contrast of {left} lasts across a room; from {workable_from} a stripe "
            "reads."
        ),
        _(
            "Where that stripe matters, make one of the two lighter or darker: "
            "lightness is seen by everybody."
        ),
    ),
    "vision_deutan": Template(
        _("{first} and {second} run together for somebody without green cones."),
        _(
            "Simulated, a contrast of {left} lasts across a room; from {workable_from} a stripe "
            "reads."
        ),
        _(
            "Where that stripe matters, make one of the two lighter or darker: "
            "lightness is seen by everybody."
        ),
    ),
    "vision_tritan": Template(
        _("{first} and {second} run together for somebody without blue cones."),
        _(
            "Simulated, a contrast of {left} lasts across a room; from {workable_from} a stripe "
            "reads. This deficiency is rare."
        ),
        _(
            "Where that stripe matters, make one of the two lighter or darker: "
            "lightness is seen by everybody."
        ),
    ),
    "yarn_short": Template(
        _("Not enough of {first} for colour {letter}."),
        _("The pattern takes {needed}; you are {missing} short."),
        ngettext_lazy(
            "Get {balls} more ball, of the same dye lot if you can.",
            "Get {balls} more balls, of the same dye lot if you can.",
            "balls",
        ),
    ),
    "yarn_tight": Template(
        _("{first} is only just enough for colour {letter}."),
        # xgettext:no-python-format
        _("You have {margin} % over what the pattern takes, and knitters' gauge varies by more."),
        _("Weigh your swatch, or keep one more ball in reserve."),
    ),
    "yarn_unknown": Template(
        _("The amount of {yarns} could not be checked."),
        _("The grams or metres of a ball, or the number of balls, are not filled in."),
        _("Copy them from the ball band."),
    ),
    "yarn_enough": Template(
        _("There is enough of every colour."),
        # xgettext:no-python-format
        _("You have what is asked for of each letter, {tight_margin} % or more of it to spare."),
        _("Nothing to buy."),
    ),
    "care_hand": Template(
        _("The yarns are not washed alike."),
        _("{yarns} must be washed by hand, so the whole piece must."),
        _("Wash to the most delicate yarn, or keep to yarns that share a wash."),
        taste=True,
    ),
    "care_dry_clean": Template(
        _("The yarns are not washed alike."),
        _("{yarns} must be dry cleaned, so the whole piece must."),
        _("Clean to the most delicate yarn, or keep to yarns that share a wash."),
        taste=True,
    ),
    "felting": Template(
        _("Superwash and ordinary wool are together."),
        _(
            "{yarns} can felt and shrink when warm, wet and rubbed; a superwash yarn will not, "
            "and the fabric puckers."
        ),
        _("Wash cool by hand without rubbing, and swatch both together before casting on."),
    ),
    "fibres_mixed": Template(
        _("The yarns are of different kinds of fibre."),
        _(
            "Animal, plant and synthetic fibres stretch, block and wear differently; {kinds} "
            "kinds are together here."
        ),
        _("Swatch them together, wash and block the swatch, and follow the gentlest ball band."),
        taste=True,
    ),
    "bleeding": Template(
        _("{first} could bleed into {second}."),
        _(
            "It is dark (lightness {dark_l}) and saturated (chroma {dark_chroma}), and such dye"
            " sometimes runs onto a pale yarn (lightness {pale_l})."
        ),
        _(
            "Before casting on, soak a strand of each in lukewarm water with a drop of wool "
            "wash, on white cloth. If colour runs, rinse that yarn alone until it stops, in "
            "gloves if your skin is sensitive, and follow the dyer's own advice."
        ),
    ),
    "swap": Template(
        _("The one swap that helps most: {second} in place of {first}."),
        _("The closest pair would go from a contrast of {left_before} to {left_after}."),
        _("Try it in the palette; you can change it back."),
        taste=True,
    ),
    "scheme_neutral": Template(
        _("The scheme is neutral."),
        _("No yarn has enough chroma to name a hue."),
        _("Lightness and texture do all the work; check the ladder."),
        taste=True,
    ),
    "scheme_accented_neutral": Template(
        _("The scheme is neutrals with accents."),
        _("{neutrals} yarns are neutral and the rest carry the colour."),
        _("Place the accents where the eye should go."),
        taste=True,
    ),
    "scheme_monochromatic": Template(
        _("The scheme is monochromatic."),
        _("Every coloured yarn lies within {arc} degrees of the colour wheel: one hue."),
        _("Lightness must tell the yarns apart; check the ladder."),
        taste=True,
    ),
    "scheme_analogous": Template(
        _("The scheme is analogous."),
        _("The coloured yarns are neighbours, within {arc} degrees of the colour wheel."),
        _("Calm by nature; a little of an opposite hue would wake it up."),
        taste=True,
    ),
    "scheme_complementary": Template(
        _("The scheme is complementary."),
        _("The coloured yarns form two groups on opposite sides of the colour wheel."),
        _("Opposites compete when equal in amount; let one of them lead."),
        taste=True,
    ),
    "scheme_split_complementary": Template(
        _("The scheme is split complementary."),
        _("One hue faces two neighbours on the far side of the colour wheel."),
        _("The single hue works best as the accent."),
        taste=True,
    ),
    "scheme_triadic": Template(
        _("The scheme is triadic."),
        _("Three hues divide the colour wheel into about equal parts."),
        _("Let one lead and the other two follow."),
        taste=True,
    ),
    "scheme_two_hues": Template(
        _("The scheme is of two hues."),
        _("The coloured yarns form two groups, neither neighbours nor opposites."),
        _("Let one of them lead; a neutral between them keeps the peace."),
        taste=True,
    ),
    "scheme_polychrome": Template(
        _("The scheme is polychrome."),
        _("The hues spread over {arc} degrees of the colour wheel."),
        _("Repeat each colour at least twice, so that none looks like an accident."),
        taste=True,
    ),
}
