"""Words about yarns, in the reader's language and units."""

import math
from collections.abc import Iterable

from django import template
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kal.models import User
from kal.units import amounts_text, plain
from palettes.colour.contrast import Grade
from palettes.colour.phrases import whole
from palettes.colour.wording import GRADE_NAMES
from palettes.models import KitYarn
from palettes.models.yarn_facts import YarnFacts

register = template.Library()


@register.filter
def in_colour_words(yarns: Iterable[YarnFacts]) -> str:
    """Return the colours of yarns in their order, like 'dark blue; light neutral, cream'."""
    return "; ".join(yarn.colour_words for yarn in yarns)


@register.filter
def grade_name(grade: Grade) -> str:
    """Return the reader's word for a grade of contrast."""
    return _(GRADE_NAMES[grade])


register.filter("whole", whole)


@register.simple_tag
def kit_amount(yarn: KitYarn, reader: User) -> str:
    """Return how much of a yarn its kit holds, like '2 balls of 50 g, 200 m', in their units."""
    imperial = reader.reads_imperial
    put_up = amounts_text(yarn.put_up_grams, yarn.put_up_metres, imperial=imperial)
    balls, count = plain(yarn.balls), math.ceil(yarn.balls)
    if not put_up:
        return ngettext("%(balls)s ball", "%(balls)s balls", count) % {"balls": balls}
    words = ngettext("%(balls)s ball of %(put_up)s", "%(balls)s balls of %(put_up)s", count)
    return words % {"balls": balls, "put_up": put_up}
