"""Changing the schedule: exactly what a preview showed, or nothing.

The knit-along's row is locked first and its clues then, so two organisers cannot both change the
schedule that they saw, and a clue cannot go out half-way through.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import partial

from django.core.files.storage import default_storage
from django.db import transaction
from django.utils.formats import date_format
from django.utils.timezone import localtime
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from kal.languages import in_every_language
from kal.models import AuditEntry, KnitAlong, User
from schedule.actions.messages import queue_messages
from schedule.actions.plan import count_clues, keep_cast_on, locked_clues
from schedule.announcement import announcement_of, merge_for
from schedule.changes import Change, Line, Plan, fingerprint, plan_change
from schedule.errors import BadSchedule, ReasonMissing, StaleSchedule
from schedule.models import Clue, ScheduleChange
from schedule.notices.kinds import SCHEDULE_CHANGE
from schedule.tasks import sweep_at

ACTS = {
    ScheduleChange.Kind.ADDED: gettext_noop("added a clue"),
    ScheduleChange.Kind.MOVED: gettext_noop("moved a clue"),
    ScheduleChange.Kind.HELD: gettext_noop("held a clue back"),
    ScheduleChange.Kind.LET_GO: gettext_noop("let a held clue go"),
    ScheduleChange.Kind.REMOVED: gettext_noop("removed a clue"),
    ScheduleChange.Kind.RENUMBERED: gettext_noop("gave a clue another number"),
}


@dataclass(frozen=True, slots=True)
class Done:
    """What was stored, and to how many participants mail goes."""

    changes: list[ScheduleChange]
    mailed: int


@transaction.atomic
def change_schedule(
    knit_along: KnitAlong,
    change: Change,
    *,
    seen: str,
    reason: str,
    tells: bool,
    by: User,
    now: datetime,
) -> Done:
    """Make the change that was shown on the schedule with the fingerprint `seen`.

    StaleSchedule when the schedule is another by now, BadSchedule when the change cannot be,
    ReasonMissing when people know the dates and no reason is given. With `tells` every
    participant who wants mail is told.
    """
    knit_along = KnitAlong.objects.select_for_update().get(pk=knit_along.pk)
    clues = locked_clues(knit_along)
    if fingerprint(clues) != seen:
        raise StaleSchedule(stale_sentence(knit_along))
    plan = plan_change(knit_along, clues, change, now=now)
    if plan.problems:
        raise BadSchedule(plan.problems)
    is_public, why = knit_along.are_dates_known(now), " ".join(reason.split())
    if is_public and not why:
        raise ReasonMissing
    _apply(knit_along, plan, by=by, now=now)
    changes = _record(knit_along, plan.lines, why, is_public=is_public, by=by, now=now)
    _log(knit_along, plan.lines, why, by=by, now=now)
    mailed = _tell(knit_along, changes, by=by, now=now) if tells else 0
    return Done(changes, mailed)


def stale_sentence(knit_along: KnitAlong) -> str:
    """Return who did what to the schedule last, for somebody whose page has gone stale."""
    acts = (
        *ACTS.values(),
        gettext_noop("marked a clue ready"),
        gettext_noop("marked a clue not ready"),
    )
    last = knit_along.audit_log.filter(act__in=acts).select_related("actor").first()
    if last is None or last.actor is None:
        return _("The schedule is no longer the one you saw, so nothing of yours was done yet.")
    return _(
        "The schedule is no longer the one you saw, so nothing of yours was done yet: "
        "%(who)s %(did)s on %(day)s."
    ) % {
        "who": last.actor,
        "did": last.act_in_words,
        "day": date_format(localtime(last.at), "j F, H:i"),
    }


def _apply(knit_along: KnitAlong, plan: Plan, *, by: User, now: datetime) -> None:
    kinds = ScheduleChange.Kind
    for line in _in_order_of_moving(plan.lines):
        if line.kind == kinds.MOVED and line.after:
            Clue.objects.filter(pk=line.clue.pk).update(release_at=line.after)
            sweep_at(line.after)
        elif line.kind in (kinds.HELD, kinds.LET_GO):
            Clue.objects.filter(pk=line.clue.pk).update(is_held=line.kind == kinds.HELD)
            sweep_at(max(line.before, now))
        elif line.kind == kinds.ADDED:
            line.clue.save()
        elif line.kind == kinds.REMOVED:
            _remove(line.clue)
        elif line.kind == kinds.RENUMBERED:
            Clue.objects.filter(pk=line.clue.pk).update(number=line.number_after)
    count_clues(knit_along)
    keep_cast_on(knit_along)


def _in_order_of_moving(lines: Iterable[Line]) -> list[Line]:
    """Later-going clues from the last, then the others from the first.

    Both schedules increase with the number, so no clue lands on an instant still taken.
    """
    ordered = sorted(lines, key=lambda line: line.clue.number)
    later = [line for line in ordered if line.after and line.after > line.before]
    return [*reversed(later), *(line for line in ordered if line not in later)]


def _remove(clue: Clue) -> None:
    stored = list(clue.attachments.values_list("file", flat=True))
    Clue.objects.filter(pk=clue.pk).delete()
    for name in stored:
        transaction.on_commit(partial(default_storage.delete, name))


def _record(
    knit_along: KnitAlong,
    lines: Iterable[Line],
    reason: str,
    *,
    is_public: bool,
    by: User,
    now: datetime,
) -> list[ScheduleChange]:
    return ScheduleChange.objects.bulk_create(
        ScheduleChange(
            knit_along=knit_along,
            clue_id=None if line.kind == ScheduleChange.Kind.REMOVED else line.clue.pk,
            clue_key=line.clue.pk,
            number=line.clue.number,
            kind=line.kind,
            before_at=line.before,
            after_at=line.after,
            reason=reason,
            actor=by,
            at=now,
            is_public=is_public,
        )
        for line in lines
    )


def _log(
    knit_along: KnitAlong, lines: Iterable[Line], reason: str, *, by: User, now: datetime
) -> None:
    for line in lines:
        detail: dict[str, str | int] = {"clue": line.clue.number, "why": reason}
        if line.kind == ScheduleChange.Kind.MOVED:
            detail["from_instant"] = f"{line.before:%Y-%m-%d %H:%M} UTC"
        if line.has_new_instant:
            detail["to_instant"] = f"{line.after:%Y-%m-%d %H:%M} UTC"
        AuditEntry.objects.record(knit_along, ACTS[line.kind], by=by, at=now, **detail)


def _tell(knit_along: KnitAlong, changes: list[ScheduleChange], *, by: User, now: datetime) -> int:
    subject, body = announcement_of(changes)
    wanting = knit_along.participants.wanting_notices().select_related("user")
    return queue_messages(
        knit_along,
        kind=SCHEDULE_CHANGE.name,
        subject=subject,
        body=body,
        languages=in_every_language(lambda: announcement_of(changes)),
        recipients=merge_for(wanting.iterator(), knit_along, changes),
        by=by,
        now=now,
        path=f"/k/{knit_along.slug}/clues/",
    )
