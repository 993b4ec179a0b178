"""The desk's navigation."""

from django import template

from kal.desk.nav import GROUPS
from kal.models import KnitAlong

register = template.Library()


@register.inclusion_tag("kal/_desk_nav.html")
def desk_nav(knit_along: KnitAlong, section: str | None) -> dict[str, object]:
    """Show the groups, and the pages of the one that `section` is in; no section is the clues."""
    current = section or "clues"
    return {
        "knit_along": knit_along,
        "groups": [(one, one.holds(current)) for one in GROUPS],
        "section": current,
    }
