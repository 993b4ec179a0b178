"""When clues go out: proposing the schedule, moving, holding, adding and removing clues."""

from django.db import transaction

from kal.models import KnitAlong
from schedule.models import Clue
from schedule.pattern.calendar import propose_releases, to_local


@transaction.atomic
def propose_clues(knit_along: KnitAlong) -> list[Clue]:
    """Create the clues that the knit-along's cast-on, count and cadence propose; return them.

    They are neither ready nor written. A number that exists already is left as it is.
    """
    releases = propose_releases(
        to_local(knit_along.cast_on_at, knit_along.zone),
        knit_along.zone,
        knit_along.clue_count,
        knit_along.cadence_days,
    )
    taken = set(knit_along.clues.values_list("number", flat=True))
    return Clue.objects.bulk_create(
        Clue(knit_along=knit_along, number=number, release_at=release.at)
        for number, release in enumerate(releases, start=1)
        if number not in taken
    )
