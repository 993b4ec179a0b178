"""Words about a yarn that depend on who reads them."""

import math

from django import template
from django.utils.translation import ngettext

from kal.models import User
from kal.units import length_text, plain, weight_text
from palettes.models import KitYarn

register = template.Library()


@register.simple_tag
def kit_amount(yarn: KitYarn, reader: User) -> str:
    """Return how much of a yarn its kit holds, like '2 balls of 50 g, 200 m', in their units."""
    imperial = reader.units == User.Units.IMPERIAL
    weight = yarn.put_up_grams and weight_text(yarn.put_up_grams, imperial=imperial)
    length = yarn.put_up_metres and length_text(yarn.put_up_metres, imperial=imperial)
    put_up = ", ".join(text for text in (weight, length) if text)
    balls, count = plain(yarn.balls), math.ceil(yarn.balls)
    if not put_up:
        return ngettext("%(balls)s ball", "%(balls)s balls", count) % {"balls": balls}
    words = ngettext("%(balls)s ball of %(put_up)s", "%(balls)s balls of %(put_up)s", count)
    return words % {"balls": balls, "put_up": put_up}
