"""The organiser opens the letter plan, and some of the crowd keep letters of their own."""

from datetime import timedelta

from kal.demo.events import Event
from kal.models import KnitAlong, Participant, User
from schedule.actions.letters import choose_letters, open_plan

OPENS_BEFORE = timedelta(days=2)  # cast-on, when the palettes are known; our choice
STUBBORN_ONE_IN = 4  # keep the order they laid their yarns out in


def hand_out_letters(event: Event, knit_along: KnitAlong, host: User) -> None:
    """Open the plan two days before cast-on; every fourth of those registered goes by their own."""
    at = event.cast_on - OPENS_BEFORE
    open_plan(knit_along, at=at, by=host, now=at)
    registered = Participant.objects.filter(
        knit_along=knit_along, palette__registrations__is_current=True
    ).order_by("pk")
    for place, participant in enumerate(registered.select_related("knit_along", "user")):
        if place % STUBBORN_ONE_IN == STUBBORN_ONE_IN - 1:
            choose_letters(participant, range(knit_along.colour_count), now=at)
