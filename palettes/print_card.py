"""What goes on the printable card of one palette, draft or registered."""

from collections.abc import Sequence

from django.utils.formats import date_format
from django.utils.timezone import localtime
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from kal.models import KnitAlong, User
from kal.units import amounts_text
from palettes.audits import fabric_of, letter_at, needs_of
from palettes.card import Card, CardPair, CardYarn
from palettes.colour.contrast import compare_all
from palettes.colour.quantities import check_quantities
from palettes.models import Registration
from palettes.models.yarn_facts import YarnFacts
from palettes.translator import READERS_LANGUAGE


def print_card(
    yarns: Sequence[YarnFacts], knit_along: KnitAlong, reader: User, *, note: str
) -> Card:
    """Return the card of these yarns in the order of their letters; BadCard for fewer than two.

    Amounts are in the reader's own units.
    """
    swatches = [yarn.swatch() for yarn in yarns]
    balls = {
        line.yarn: line.balls_needed for line in check_quantities(swatches, needs_of(knit_along))
    }
    pairs = compare_all(swatches, fabric_of(knit_along)) if len(swatches) > 1 else ()
    imperial = reader.reads_imperial
    return Card(
        knit_along=knit_along.title,
        person=reader.name.strip() or _("a knitter"),
        yarns=[
            CardYarn(
                letter=letter_at(knit_along.letters, place),
                name=yarn.name,
                lab=yarn.lab,
                colour_words=yarn.colour_words,
                spread=swatch.texture,
                dye_style=yarn.get_dye_style_display(),
                fibre=yarn.fibre,
                put_up=amounts_text(yarn.put_up_grams, yarn.put_up_metres, imperial=imperial),
                balls_to_have=balls.get(place),
            )
            for place, (yarn, swatch) in enumerate(zip(yarns, swatches, strict=True))
        ],
        pairs=[CardPair(pair.first, pair.second, pair.grade) for pair in pairs],
        note=note,
        language=get_language() or "en-GB",
        to=READERS_LANGUAGE,
    )


def registered_note(registration: Registration) -> str:
    """Return the line that says when the palette was registered, in the reader's zone."""
    day = date_format(localtime(registration.registered_at), "j F Y")
    return _("Registered %(day)s") % {"day": day}
