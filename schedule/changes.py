"""What an organiser may ask of the schedule, and what it would come to: shown first, made later.

A preview is a `Plan`. It carries its `Change` and the `fingerprint` of the schedule that it was
reckoned on, signed; whoever confirms it gets exactly what was shown, or a refusal.
"""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Any

from django.core import signing
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from kal.models import KnitAlong, User
from schedule.models import Clue, ScheduleChange
from schedule.pattern.calendar import Release, to_local, to_release
from schedule.pattern.shifts import next_after, repeat_from, shift_by, shift_to

SALT = "schedule.change"
MAX_CLUES = 30  # as the knit-along's own form allows


class Ask(StrEnum):
    """What a change is asked to do."""

    TIMES = "times"
    """Each clue in `times` goes to its wall time."""
    SHIFT = "shift"
    """The clue, and with `rest` those after it, go `days` and `hours` later (or earlier)."""
    TO = "to"
    """The clue goes to the wall time `local`; with `rest` those after it keep their distance."""
    REPEAT = "repeat"
    """The clue goes to `local`, those after it every `days` days at the same wall time."""
    HOLD = "hold"
    LET_GO = "let-go"
    REMOVE = "remove"
    ADD = "add"
    """A clue that is not written yet comes after the last, at the wall time `local`."""


@dataclass(frozen=True, slots=True)
class Change:
    """One thing asked of the schedule; wall times are ISO texts in the knit-along's zone."""

    ask: str
    number: int = 0
    rest: bool = False
    days: int = 0
    hours: int = 0
    local: str = ""
    times: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Line:
    """What a plan does to one clue; `release` is None for one that is removed."""

    clue: Clue
    kind: ScheduleChange.Kind
    release: Release | None
    number_after: int

    @property
    def before(self) -> datetime:
        return self.clue.release_at

    @property
    def after(self) -> datetime | None:
        return self.release.at if self.release else None

    @property
    def has_new_instant(self) -> bool:
        """Whether a clue is due at an instant at which it was not due before."""
        is_new = self.kind == ScheduleChange.Kind.ADDED
        return self.after is not None and (is_new or self.after != self.before)


@dataclass(frozen=True, slots=True)
class Plan:
    """A change worked out on the clues as they stand; problems are sentences by clue number."""

    change: Change
    seen: str
    lines: Sequence[Line]
    problems: Mapping[int, str]

    @property
    def refusal(self) -> str:
        """Everything that stands against it in one text, or '' where nothing does."""
        return " ".join(self.problems.values())


def plan_change(
    knit_along: KnitAlong, clues: Sequence[Clue], change: Change, *, now: datetime
) -> Plan:
    """Return what the change would do to the clues at `now`, and what stands against it."""
    if change.ask in (Ask.HOLD, Ask.LET_GO):
        lines, problems = _plan_hold(clues, change, now)
    elif change.ask == Ask.REMOVE:
        lines, problems = _plan_removal(clues, change, now)
    elif change.ask == Ask.ADD:
        lines, problems = _plan_addition(knit_along, clues, change, now)
    else:
        releases = releases_asked(clues, change, knit_along.zone)
        instants = {number: release.at for number, release in releases.items()}
        problems = find_problems(clues, instants, now=now)
        lines = [
            Line(clue, ScheduleChange.Kind.MOVED, releases[clue.number], clue.number)
            for clue in clues
            if instants.get(clue.number, clue.release_at) != clue.release_at
        ]
    if not lines and not problems:
        problems = {change.number: _("That changes nothing: every clue stays where it is.")}
    return Plan(change, fingerprint(clues), lines, problems)


def releases_asked(clues: Sequence[Clue], change: Change, zone: str) -> dict[int, Release]:
    """Return the new releases by clue number; empty when the clue is no longer there."""
    if change.ask == Ask.TIMES:
        locals_ = {int(number): local for number, local in change.times.items()}
        there = {clue.number for clue in clues} & set(locals_)
        return {number: to_release(_wall(locals_[number]), zone) for number in there}
    takes_rest = change.rest or change.ask == Ask.REPEAT
    instants = {
        clue.number: clue.release_at
        for clue in clues
        if clue.number == change.number or (takes_rest and clue.number > change.number)
    }
    if change.number not in instants:
        return {}
    if change.ask == Ask.SHIFT:
        return shift_by(instants, zone, days=change.days, hours=change.hours)
    if change.ask == Ask.TO:
        return shift_to(instants, zone, _wall(change.local))
    return repeat_from(instants, zone, _wall(change.local), change.days)


def _wall(local: str) -> datetime:
    return datetime.fromisoformat(local)


def find_problems(
    clues: Sequence[Clue], moves: Mapping[int, datetime], *, now: datetime
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
        return _("Clue {number} is out already, so its instant can no longer be moved.").format(
            number=clue.number
        )
    if instant <= now:
        return _(
            "Clue {number} would go out at a time that has passed; choose a later one."
        ).format(number=clue.number)
    return ""


def _order_problem(number: int, earlier: int, same: bool) -> str:
    if same:
        return _(
            "Clues {earlier} and {number} would go out at the same instant; move one of them."
        ).format(earlier=earlier, number=number)
    return _(
        "Clue {number} would go out before clue {earlier}; choose a later time for "
        "it, or an earlier one for the other."
    ).format(number=number, earlier=earlier)


def _plan_hold(
    clues: Sequence[Clue], change: Change, now: datetime
) -> tuple[list[Line], dict[int, str]]:
    holds = change.ask == Ask.HOLD
    kind = ScheduleChange.Kind.HELD if holds else ScheduleChange.Kind.LET_GO
    lines, problems = [], {}
    for clue in clues:
        if clue.number != change.number:
            continue
        if clue.is_released(now):
            problems[clue.number] = out_sentence(clue, OutSentence.HELD_BACK)
        elif clue.is_held != holds:
            lines.append(Line(clue, kind, _standing(clue), clue.number))
    return lines, problems


def _plan_removal(
    clues: Sequence[Clue], change: Change, now: datetime
) -> tuple[list[Line], dict[int, str]]:
    """A clue goes and those after it move up a number; none that was read changes its number."""
    kinds = ScheduleChange.Kind
    touched = [clue for clue in clues if clue.number >= change.number]
    if not touched or touched[0].number != change.number:
        return [], {}
    if any(clue.is_released(now) for clue in touched):
        return [], {
            change.number: _(
                "Clue {number} or one after it is out already, so it cannot be removed."
            ).format(number=change.number)
        }
    gone, *after = touched
    renumbered = [Line(clue, kinds.RENUMBERED, _standing(clue), clue.number - 1) for clue in after]
    return [Line(gone, kinds.REMOVED, None, gone.number), *renumbered], {}


def proposed_addition(knit_along: KnitAlong, clues: Sequence[Clue], now: datetime) -> Change:
    """Return the change that adds a clue one cadence after the last, at the same wall time."""
    if clues:
        last = max(clue.release_at for clue in clues)
        local = next_after(last, knit_along.zone, knit_along.cadence_days, now=now).asked
    else:
        tomorrow = (now + timedelta(days=1)).replace(second=0, microsecond=0)
        local = to_local(max(knit_along.cast_on_at, tomorrow), knit_along.zone)
    return Change(Ask.ADD, local=local.isoformat())


def _plan_addition(
    knit_along: KnitAlong, clues: Sequence[Clue], change: Change, now: datetime
) -> tuple[list[Line], dict[int, str]]:
    """The new clue is a row that is not stored yet; no other is touched."""
    last = max(clues, key=lambda clue: clue.number, default=None)
    number = last.number + 1 if last else 1
    if len(clues) >= MAX_CLUES:
        refusal = _("A knit-along has at most {max_clues} clues; this one has them all.")
        return [], {number: refusal.format(max_clues=MAX_CLUES)}
    release = to_release(_wall(change.local), knit_along.zone)
    clue = Clue(knit_along=knit_along, number=number, release_at=release.at)
    if problem := _own_problem(clue, release.at, now):
        return [], {number: problem}
    if last and release.at <= last.release_at:
        return [], {number: _order_problem(number, last.number, release.at == last.release_at)}
    return [Line(clue, ScheduleChange.Kind.ADDED, release, number)], {}


def _standing(clue: Clue) -> Release:
    return to_release(to_local(clue.release_at, clue.knit_along.zone), clue.knit_along.zone)


class OutSentence(StrEnum):
    """What a clue that is out can no longer be, each as a whole sentence."""

    HELD_BACK = gettext_noop(
        "Clue {number} is out already, so it cannot be held back; edit it instead, with a note on "
        "what changed."
    )
    NOT_READY = gettext_noop(
        "Clue {number} is out already, so it cannot be marked not ready; edit it instead, with a "
        "note on what changed."
    )


def out_sentence(clue: Clue, refusal: OutSentence) -> str:
    """Return why a clue that is out can no longer be this or that."""
    return _(refusal.value).format(number=clue.number)


def fingerprint(clues: Sequence[Clue]) -> str:
    """Return what tells two states of the schedule apart: order, instants, holds, readiness."""
    state = [
        (clue.pk, clue.number, clue.release_at.timestamp(), clue.is_held, clue.ready_at is None)
        for clue in sorted(clues, key=lambda clue: clue.number)
    ]
    return hashlib.sha256(repr(state).encode()).hexdigest()[:32]


def sign_preview(plan: Plan, knit_along: KnitAlong, user: User) -> str:
    """Return what a preview's form carries: the change and the schedule it was seen on."""
    content = {"ka": knit_along.pk, "by": user.pk, "seen": plan.seen, "change": asdict(plan.change)}
    return signing.dumps(content, salt=SALT, compress=True)


def read_preview(text: str, knit_along: KnitAlong, user: User) -> tuple[Change, str] | None:
    """Return the change and the fingerprint it was seen on; None unless signed for this reader."""
    try:
        content: dict[str, Any] = signing.loads(text, salt=SALT)
        change = Change(**content["change"])
    except (signing.BadSignature, TypeError):
        # Signed by an earlier version of the site, whose changes had other fields, it is void too.
        return None
    is_theirs = (content["ka"], content["by"]) == (knit_along.pk, user.pk)
    return (change, str(content["seen"])) if is_theirs else None
