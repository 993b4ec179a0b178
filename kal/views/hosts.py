"""Who hosts a knit-along, in words."""

from kal.models import KnitAlong
from palettes.translator import listed


def hosts_in_words(knit_along: KnitAlong) -> str:
    """Return the names that its hosts go by, or '' while they have none; never an address."""
    named = knit_along.participants.organisers().exclude(user__name="")
    return listed(list(named.values_list("user__name", flat=True)))
