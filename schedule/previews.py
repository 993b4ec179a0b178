"""What a preview of a change says: each clue before and after, and what participants will read."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count
from django.utils.translation import gettext as _

from kal.models import KnitAlong
from schedule.announcement import sentences_for
from schedule.changes import Line, Plan
from schedule.clock_words import clock_notes, instant_words, shift_words, skipped_note
from schedule.models import ScheduleChange

MOST_ZONES = 6  # what fits a glance; our choice


@dataclass(frozen=True)
class ShownLine:
    """One clue in a preview, in words."""

    number: int
    title: str
    before: str
    after: str
    by: str
    notes: Sequence[str]


def shown_lines(knit_along: KnitAlong, plan: Plan) -> list[ShownLine]:
    zone = knit_along.zone
    after = _instants_after(knit_along, plan)
    return [
        ShownLine(
            number=line.clue.number,
            title=line.clue.title,
            before=_before_words(line, zone),
            after=_after_words(line, zone),
            by=shift_words(line.before, line.after)
            if line.after and line.after != line.before
            else "",
            notes=_notes(line, after, zone),
        )
        for line in plan.lines
    ]


def _instants_after(knit_along: KnitAlong, plan: Plan) -> dict[int, datetime]:
    instants = {clue.number: clue.release_at for clue in knit_along.clues.all()}
    return instants | {
        line.clue.number: line.after for line in plan.lines if line.after and line.has_new_instant
    }


def _before_words(line: Line, zone: str) -> str:
    if line.kind == ScheduleChange.Kind.ADDED:
        return _("not in the schedule")
    return instant_words(line.before, zone, zone)


def _after_words(line: Line, zone: str) -> str:
    kinds = ScheduleChange.Kind
    if line.kind == kinds.REMOVED or line.after is None:
        return _("removed")
    if line.kind == kinds.HELD:
        return _("waits until you let it go")
    if line.kind == kinds.RENUMBERED:
        return _("same time, as clue %(number)d") % {"number": line.number_after}
    return instant_words(line.after, zone, zone)


def _notes(line: Line, after: dict[int, datetime], zone: str) -> list[str]:
    if line.release is None or not line.has_new_instant:
        return []
    skipped = [skipped_note(line.release)] if line.release.moved_by else []
    before = after.get(line.clue.number - 1)
    return [*skipped, *clock_notes(before, line.release.at, zone=zone, reader=zone)]


def told(knit_along: KnitAlong, plan: Plan, now: datetime) -> list[str]:
    """Return what participants will read, without the reason that is still to be given."""
    changes = (
        ScheduleChange(
            number=line.clue.number,
            kind=line.kind,
            before_at=line.before,
            after_at=line.after,
            at=now,
        )
        for line in plan.lines
    )
    return sentences_for(changes, knit_along.zone)


def abroad(knit_along: KnitAlong, at: datetime) -> list[tuple[str, int]]:
    """Return the instant in the zones most participants read in, and how many those are."""
    zones = (
        knit_along.participants.active()
        .exclude(user__zone=knit_along.zone)
        .order_by()
        .values_list("user__zone")
        .annotate(people=Count("pk"))
        .order_by("-people", "user__zone")[:MOST_ZONES]
    )
    return [(instant_words(at, zone), people) for zone, people in zones]


def lost(plan: Plan) -> dict[str, int]:
    """Return how much is deleted with a clue that is removed."""
    for line in plan.lines:
        if line.kind == ScheduleChange.Kind.REMOVED:
            newest = line.clue.revision
            words = len(newest.body.split()) if newest else 0
            return {"words": words, "files": line.clue.attachments.count()}
    return {}
