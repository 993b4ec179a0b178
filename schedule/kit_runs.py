"""The kits of shops and dyers tried against every meeting, as a palette of their yarns would be."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from kal.models import KnitAlong
from palettes.audits import fabric_of, needs_of
from palettes.colour.letters import ALPHABET, Assignment, assess, plan_letters
from palettes.models import Kit, KitYarn
from schedule.models import Meeting
from schedule.visibility import is_plan_open


@dataclass(frozen=True)
class KitRun:
    """How one kit comes out; `assignment` is None when it has too few yarns to be tried."""

    kit: Kit
    yarns: Sequence[KitYarn]
    assignment: Assignment | None

    @property
    def reads(self) -> bool:
        return self.assignment is not None and self.assignment.reads

    @property
    def unread(self) -> list[tuple[str, str, str, str]]:
        """Each pair that does not read, once, in the alphabet's order: letters and yarns' names."""
        if self.assignment is None:
            return []
        pairs = {one.meeting.pair: one.yarns for one in self.assignment.outcomes if not one.reads}
        return [
            (first, second, self.yarns[yarns[0]].name, self.yarns[yarns[1]].name)
            for (first, second), yarns in sorted(pairs.items())
        ]

    @property
    def letters(self) -> list[tuple[str, KitYarn]]:
        """Which yarn is which letter."""
        order = self.assignment.yarns if self.assignment else ()
        return [(ALPHABET[place], self.yarns[yarn]) for place, yarn in enumerate(order)]


def try_kits(
    knit_along: KnitAlong, *, now: datetime, as_if_planned: bool = False
) -> tuple[list[KitRun], int]:
    """Return how each proposed and approved kit comes out, and how many meetings there are.

    Its letters go by the plan if that is open or `as_if_planned`, else by the order of its yarns,
    as they would for whoever adopts it.
    """
    meetings = [one.as_meeting() for one in Meeting.objects.in_newest_revisions(knit_along)]
    kits = Kit.objects.filter(
        maker__knit_along=knit_along,
        maker__withdrawn_at=None,
        state__in=(Kit.State.PROPOSED, Kit.State.APPROVED),
    )
    is_planned = as_if_planned or is_plan_open(knit_along, now)
    letters, fabric = len(knit_along.letters), fabric_of(knit_along)
    needs = needs_of(knit_along) if is_planned else []
    runs = []
    for kit in kits.select_related("maker").prefetch_related("yarns"):
        yarns = list(kit.yarns.all())
        swatches = [yarn.swatch() for yarn in yarns]
        result = None
        if len(yarns) >= letters and is_planned:
            plan = plan_letters(swatches, meetings, letters=letters, fabric=fabric, needs=needs)
            result = plan.best
        elif len(yarns) >= letters:
            result = assess(swatches, meetings, tuple(range(letters)), fabric)
        runs.append(KitRun(kit, yarns, result))
    return runs, len(meetings)
