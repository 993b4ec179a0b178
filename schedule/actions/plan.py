"""Making the schedule: proposing it, and marking a clue ready.

Whatever changes it afterwards is in `schedule.actions.change`. Each act locks the clues first, so
a clue cannot go out half-way through it.
"""

from datetime import datetime

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from kal.models import AuditEntry, KnitAlong, User
from schedule.changes import OutSentence, out_sentence
from schedule.errors import ClueIsOut, NotFit, NotWritten
from schedule.models import Clue
from schedule.pattern.calendar import propose_releases, to_local
from schedule.preflight import fault_sentence, faults, preflight
from schedule.tasks import sweep_at


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


@transaction.atomic
def mark_ready(clue: Clue, *, ready: bool, by: User, now: datetime) -> Clue:
    """Say that a clue may go out at its instant, or that it may not; return it as stored.

    NotWritten when there is nothing in it; NotFit when it has faults that must not go out;
    ClueIsOut when it has gone out.
    """
    locked = _locked(clue)
    if locked.is_released(now):
        raise ClueIsOut(out_sentence(locked, OutSentence.NOT_READY))
    if ready == (locked.ready_at is not None):
        return locked
    if ready and not locked.is_written:
        raise NotWritten(
            _("Clue {number} is empty; write its text or add a file, then mark it ready.").format(
                number=clue.number
            )
        )
    if ready and (found := faults(preflight(locked, now))):
        raise NotFit(fault_sentence(clue.number, found))
    locked.ready_at = now if ready else None
    locked.save(update_fields=["ready_at"])
    act = gettext_noop("marked a clue ready") if ready else gettext_noop("marked a clue not ready")
    AuditEntry.objects.record(clue.knit_along, act, by=by, at=now, clue=clue.number)
    sweep_at(max(locked.release_at, now))
    return locked


def count_clues(knit_along: KnitAlong) -> None:
    count = knit_along.clues.aggregate(last=Max("number", default=0))["last"]
    if count:
        KnitAlong.objects.filter(pk=knit_along.pk).update(clue_count=count)


def keep_cast_on(knit_along: KnitAlong) -> None:
    """Cast-on is the instant of the first clue, wherever that is moved."""
    first = knit_along.clues.order_by("number").first()
    if first:
        KnitAlong.objects.filter(pk=knit_along.pk).update(cast_on_at=first.release_at)


def locked_clues(knit_along: KnitAlong) -> list[Clue]:
    return list(knit_along.clues.select_for_update().order_by("number"))


def _locked(clue: Clue) -> Clue:
    return Clue.objects.select_for_update().get(pk=clue.pk)
