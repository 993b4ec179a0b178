"""Numbers as a person would write them."""

from decimal import Decimal

from django import template

from kal.units import figures, plain

register = template.Library()


@register.filter
def in_full(number: Decimal) -> str:
    """Return every digit that says something: '3.25', '3.5', '24'; '3,25' in German.

    `floatformat` would round a 3.25 mm needle to 3.3, which is no needle.
    """
    return figures(plain(number))
