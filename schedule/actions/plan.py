"""When clues go out: proposing the schedule, moving, holding, adding and removing clues.

Each act locks the knit-along's clues first, so a clue cannot go out half-way through it.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from functools import partial

from django.core.files.storage import default_storage
from django.db import transaction
from django.db.models import Max

from kal.models import AuditEntry, KnitAlong, User
from schedule.errors import BadSchedule, ClueIsOut, NotWritten, TooManyClues
from schedule.models import Clue
from schedule.pattern.calendar import propose_releases, to_local
from schedule.tasks import sweep_at

MAX_CLUES = 30  # as the knit-along's own form allows


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


def find_problems(
    clues: Iterable[Clue], moves: Mapping[int, datetime], *, now: datetime
) -> dict[int, str]:
    """Return one sentence for each clue, by number, whose new instant in `moves` cannot be."""
    problems: dict[int, str] = {}
    before: tuple[int, datetime] | None = None
    for clue in sorted(clues, key=lambda clue: clue.number):
        instant = moves.get(clue.number, clue.release_at)
        moved = instant != clue.release_at
        if moved and (problem := _own_problem(clue, instant, now)):
            problems[clue.number] = problem
        elif before and instant <= before[1] and (moved or before[0] in moves):
            problems[clue.number] = _order_problem(clue.number, before[0], instant == before[1])
        before = clue.number, instant
    return problems


def _own_problem(clue: Clue, instant: datetime, now: datetime) -> str:
    if clue.is_released(now):
        return f"Clue {clue.number} is out already, so its instant can no longer be moved."
    if instant <= now:
        return f"Clue {clue.number} would go out at a time that has passed; choose a later one."
    return ""


def _order_problem(number: int, earlier: int, same: bool) -> str:
    if same:
        return f"Clues {earlier} and {number} would go out at the same instant; move one of them."
    return (
        f"Clue {number} would go out before clue {earlier}; "
        "choose a later time for it, or an earlier one for the other."
    )


@transaction.atomic
def move_clues(
    knit_along: KnitAlong, moves: Mapping[int, datetime], *, by: User, now: datetime
) -> list[Clue]:
    """Give clues, by number, new instants; return those that moved. BadSchedule if they cannot."""
    clues = _locked_clues(knit_along)
    if problems := find_problems(clues, moves, now=now):
        raise BadSchedule(problems)
    moved = [clue for clue in clues if moves.get(clue.number, clue.release_at) != clue.release_at]
    for clue in _in_order_of_moving(moved, moves):
        previous, clue.release_at = clue.release_at, moves[clue.number]
        clue.save(update_fields=["release_at"])
        AuditEntry.objects.record(
            knit_along,
            "moved a clue",
            by=by,
            at=now,
            clue=clue.number,
            from_instant=f"{previous:%Y-%m-%d %H:%M} UTC",
            to_instant=f"{clue.release_at:%Y-%m-%d %H:%M} UTC",
        )
        sweep_at(clue.release_at)
    _keep_cast_on(knit_along)
    return moved


def _in_order_of_moving(moved: Iterable[Clue], moves: Mapping[int, datetime]) -> list[Clue]:
    """Later-going clues from the last, then earlier-going from the first.

    Both schedules increase with the number, so no clue lands on an instant still taken.
    """
    ordered = sorted(moved, key=lambda clue: clue.number)
    later = [clue for clue in ordered if moves[clue.number] > clue.release_at]
    return [*reversed(later), *(clue for clue in ordered if clue not in later)]


@transaction.atomic
def hold_clue(clue: Clue, *, held: bool, by: User, now: datetime) -> Clue:
    """Hold a clue back whatever its instant, or let it go; return it as stored."""
    locked = _locked(clue)
    if locked.is_released(now):
        raise ClueIsOut(_out_sentence(locked, "held back"))
    if locked.is_held == held:
        return locked
    locked.is_held = held
    locked.save(update_fields=["is_held"])
    act = "held a clue back" if held else "let a held clue go"
    AuditEntry.objects.record(clue.knit_along, act, by=by, at=now, clue=clue.number)
    sweep_at(max(locked.release_at, now))
    return locked


@transaction.atomic
def mark_ready(clue: Clue, *, ready: bool, by: User, now: datetime) -> Clue:
    """Say that a clue may go out at its instant, or that it may not; return it as stored.

    NotWritten when there is nothing in it; ClueIsOut when it has gone out.
    """
    locked = _locked(clue)
    if locked.is_released(now):
        raise ClueIsOut(_out_sentence(locked, "marked not ready"))
    if ready == (locked.ready_at is not None):
        return locked
    if ready and not locked.is_written:
        raise NotWritten(
            f"Clue {clue.number} is empty; write its text or add a file, then mark it ready."
        )
    locked.ready_at = now if ready else None
    locked.save(update_fields=["ready_at"])
    act = "marked a clue ready" if ready else "marked a clue not ready"
    AuditEntry.objects.record(clue.knit_along, act, by=by, at=now, clue=clue.number)
    sweep_at(max(locked.release_at, now))
    return locked


@transaction.atomic
def add_clue(knit_along: KnitAlong, *, by: User, now: datetime) -> Clue:
    """Append an unwritten clue, one cadence after the last at the same wall time; return it."""
    clues = _locked_clues(knit_along)
    if len(clues) >= MAX_CLUES:
        raise TooManyClues(f"A knit-along has at most {MAX_CLUES} clues; this one has them all.")
    clue = Clue.objects.create(
        knit_along=knit_along,
        number=max((clue.number for clue in clues), default=0) + 1,
        release_at=_next_instant(knit_along, clues, now),
    )
    _count_clues(knit_along)
    AuditEntry.objects.record(knit_along, "added a clue", by=by, at=now, clue=clue.number)
    return clue


def _next_instant(knit_along: KnitAlong, clues: Iterable[Clue], now: datetime) -> datetime:
    latest = max((clue.release_at for clue in clues), default=None)
    if latest is None:
        return max(knit_along.cast_on_at, now + timedelta(days=1))
    local, days, instant = to_local(latest, knit_along.zone), knit_along.cadence_days, latest
    while instant <= max(now, latest):
        instant = propose_releases(local, knit_along.zone, 2, days)[1].at
        days += knit_along.cadence_days
    return instant


@transaction.atomic
def remove_clue(clue: Clue, *, by: User, now: datetime) -> None:
    """Delete a clue that has not gone out, its text and files; those after it move up a number.

    ClueIsOut when it, or a clue after it, has gone out: a number that was read stays.
    """
    clues = _locked_clues(clue.knit_along)
    after = [other for other in clues if other.number > clue.number]
    if any(other.is_released(now) for other in (_locked(clue), *after)):
        raise ClueIsOut(
            f"Clue {clue.number} or one after it is out already, so it cannot be removed."
        )
    stored = list(clue.attachments.values_list("file", flat=True))
    AuditEntry.objects.record(
        clue.knit_along, "removed a clue", by=by, at=now, clue=clue.number, files=len(stored)
    )
    clue.delete()
    for other in after:
        Clue.objects.filter(pk=other.pk).update(number=other.number - 1)
    _count_clues(clue.knit_along)
    _keep_cast_on(clue.knit_along)
    for name in stored:
        transaction.on_commit(partial(default_storage.delete, name))


def _count_clues(knit_along: KnitAlong) -> None:
    count = knit_along.clues.aggregate(last=Max("number", default=0))["last"]
    if count:
        KnitAlong.objects.filter(pk=knit_along.pk).update(clue_count=count)


def _keep_cast_on(knit_along: KnitAlong) -> None:
    """Cast-on is the instant of the first clue, wherever that is moved."""
    first = knit_along.clues.order_by("number").first()
    if first:
        KnitAlong.objects.filter(pk=knit_along.pk).update(cast_on_at=first.release_at)


def _locked_clues(knit_along: KnitAlong) -> list[Clue]:
    return list(knit_along.clues.select_for_update().order_by("number"))


def _locked(clue: Clue) -> Clue:
    return Clue.objects.select_for_update().get(pk=clue.pk)


def _out_sentence(clue: Clue, verb: str) -> str:
    return (
        f"Clue {clue.number} is out already, so it cannot be {verb}; "
        "edit it instead, with a note on what changed."
    )
