"""Which letter each chosen yarn has: that of its place in the palette, unless a plan says another.

The plan is the schedule's, which nothing here knows: settings name the function that gives letters.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.conf import settings
from django.utils.module_loading import import_string

from kal.models import KnitAlong, Participant
from palettes.models.yarn_facts import YarnFacts


@dataclass(frozen=True, slots=True)
class Lettering:
    """The letter of each chosen yarn, in the order of the yarns."""

    letters: str
    is_planned: bool = False
    """They are by a plan or by choice, so the order of the yarns says nothing of them."""

    def sort[Y](self, yarns: Sequence[Y]) -> list[Y]:
        """Return the yarns in the order of their letters; any without a letter last."""
        last = "~"  # after every letter
        places = sorted(
            range(len(yarns)), key=lambda place: self.letters[place : place + 1] or last
        )
        return [yarns[place] for place in places]


def in_order(knit_along: KnitAlong) -> Lettering:
    """Return the letters that yarns have by their order alone."""
    return Lettering(knit_along.letters)


def letters_of(
    participant: Participant, chosen: Sequence[YarnFacts], *, now: datetime
) -> Lettering:
    """Return the letters that these yarns of a participant have at an instant."""
    knit_along = participant.knit_along
    if len(chosen) != len(knit_along.letters):
        return in_order(knit_along)
    planned: str | None = import_string(settings.LETTERS_OF_A_PALETTE)(participant, chosen, now)
    return in_order(knit_along) if planned is None else Lettering(planned, is_planned=True)
