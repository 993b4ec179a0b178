"""Instants as the reader's clock shows them, with the organiser's beside it."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import template
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

register = template.Library()

DAY_AND_TIME, TIME = "D j M Y, H:i", "H:i"


@register.simple_tag(takes_context=True)
def both_clocks(context: dict[str, Any], at: datetime) -> SafeString:
    """Return the instant in the reader's zone and in that of the `knit_along` at hand.

    A visitor, whose zone nobody knows, gets the knit-along's alone, named.
    """
    zone = context["knit_along"].zone
    theirs = timezone.localtime(at, ZoneInfo(zone))
    if not context["user"].is_authenticated:
        return format_html("{} ({})", time_element(theirs), zone)
    mine = timezone.localtime(at)
    if mine.utcoffset() == theirs.utcoffset():
        return time_element(mine)
    is_same_day = mine.date() == theirs.date()
    other = date_format(theirs, TIME if is_same_day else DAY_AND_TIME)
    there = _("%(time)s in %(zone)s") % {"time": other, "zone": zone}
    return format_html('{} <span class="muted">({})</span>', time_element(mine), there)


def time_element(local: datetime) -> SafeString:
    return format_html(
        '<time datetime="{}">{}</time>',
        local.isoformat(timespec="minutes"),
        date_format(local, DAY_AND_TIME),
    )
