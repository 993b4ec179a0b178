"""Which way a participant wants to see: of one section, or wherever a clue has several."""

from django.db import transaction

from kal.models import Participant


@transaction.atomic
def choose_way(participant: Participant, section: str, way: str) -> None:
    """Remember the key of the way to be shown first in the section with that key."""
    locked = Participant.objects.select_for_update().get(pk=participant.pk)
    locked.chosen_ways[section] = way
    locked.save(update_fields=["chosen_ways"])


def prefer_harder_way(participant: Participant, *, harder: bool) -> None:
    """Show the last way of a section first, or the plain one, unless one was chosen for it."""
    Participant.objects.filter(pk=participant.pk).update(harder_way_first=harder)
