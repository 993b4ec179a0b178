"""Changing the schedule: each change is shown first, on a page of its own, and made on a yes."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.contrib import messages
from django.db.models import Count
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from kal.http import MemberRequest, organiser_required
from kal.models import KnitAlong
from schedule import actions
from schedule.announcement import change_sentence
from schedule.changes import Ask, Change, Line, Plan, plan_change, read_preview, sign_preview
from schedule.clock_words import clock_notes, instant_words, shift_words
from schedule.errors import ReasonMissing, ScheduleError, StaleSchedule
from schedule.forms import ConfirmForm, MoveForm
from schedule.models import Clue, ScheduleChange
from schedule.views.reading import never_kept

MOST_ZONES = 6  # what fits a glance; our choice
STALE = 409


@dataclass(frozen=True)
class ShownLine:
    """One clue in a preview, in words."""

    number: int
    title: str
    before: str
    after: str
    by: str
    notes: Sequence[str]


@require_http_methods(["GET", "HEAD", "POST"])
@never_kept
@organiser_required
def move_clue(request: MemberRequest, number: int) -> HttpResponseBase:
    """Ask how one clue, or it and those after it, should move; then show what that comes to."""
    clue, now = _clue(request, number), timezone.now()
    if clue.is_released(now):
        return refused_page(
            request, _("Clue %(number)d is out already, so it stays.") % {"number": number}
        )
    form = MoveForm(request.POST or None, clue=clue, knit_along=request.knit_along)
    if request.method == "POST" and form.is_valid():
        plan = _plan(request, form.change(), now)
        if not plan.problems:
            return preview_page(request, plan, now=now)
        form.add_error(None, " ".join(plan.problems.values()))
    context = _context(request) | {"clue": clue, "form": form, "zone": request.knit_along.zone}
    return render(request, "schedule/move_clue.html", context, status=422 if form.errors else 200)


@require_safe
@never_kept
@organiser_required
def hold_clue(request: MemberRequest, number: int) -> HttpResponseBase:
    """Show what holding a clue back means, or with `held=no` letting it go."""
    ask = Ask.LET_GO if request.GET.get("held") == "no" else Ask.HOLD
    return _shown(request, Change(ask, number))


@require_safe
@never_kept
@organiser_required
def remove_clue(request: MemberRequest, number: int) -> HttpResponseBase:
    """Show what removing a clue that is not out means."""
    return _shown(request, Change(Ask.REMOVE, number))


def _shown(request: MemberRequest, change: Change) -> HttpResponseBase:
    _clue(request, change.number)
    now = timezone.now()
    plan = _plan(request, change, now)
    if plan.problems:
        return refused_page(request, " ".join(plan.problems.values()))
    return preview_page(request, plan, now=now)


@require_POST
@never_kept
@organiser_required
def change_schedule(request: MemberRequest) -> HttpResponseBase:
    """Make a change that was shown, unless the schedule has changed since."""
    now = timezone.now()
    read = read_preview(request.POST.get("preview", ""), request.knit_along, request.user)
    if read is None:
        return refused_page(
            request,
            _("That page was not made for you here; change the schedule from its own page."),
        )
    change, seen = read
    form = _confirm_form(request, now, request.POST)
    if not form.is_valid():
        return preview_page(request, _plan(request, change, now), now=now, form=form)
    try:
        done = actions.change_schedule(
            request.knit_along,
            change,
            seen=seen,
            reason=form.cleaned_data["reason"],
            tells=form.cleaned_data["tells"],
            by=request.user,
            now=now,
        )
    except StaleSchedule as stale:
        return _stale_page(request, change, str(stale), form, now)
    except ReasonMissing as missing:
        form.add_error("reason", str(missing))
        return preview_page(request, _plan(request, change, now), now=now, form=form)
    except ScheduleError as refused:
        return refused_page(request, str(refused))
    _say(request, done, now)
    return redirect("schedule:desk_clues", request.knit_along.slug)


def _stale_page(
    request: MemberRequest, change: Change, sentence: str, form: ConfirmForm, now: datetime
) -> HttpResponse:
    """Show the change anew on the schedule as it is by now, with what was typed."""
    plan = _plan(request, change, now)
    if plan.problems:
        return refused_page(request, f"{sentence} {' '.join(plan.problems.values())}", STALE)
    return preview_page(request, plan, now=now, form=form, refusal=sentence)


def _say(request: MemberRequest, done: actions.Done, now: datetime) -> None:
    zone = request.knit_along.zone
    for change in done.changes:
        messages.success(request, change_sentence(change, lambda at: instant_words(at, zone, zone)))
    if done.mailed:
        said = ngettext(
            "%(count)d participant is mailed.", "%(count)d participants are mailed.", done.mailed
        )
        messages.info(request, said % {"count": done.mailed})
    released = {change.clue_id for change in done.changes if change.clue_id}
    for clue in Clue.objects.out(now).filter(pk__in=released):
        messages.success(request, f"Clue {clue.number} is out, and mail is on its way.")


def preview_page(
    request: MemberRequest,
    plan: Plan,
    *,
    now: datetime,
    form: ConfirmForm | None = None,
    refusal: str = "",
) -> HttpResponse:
    """Return the page that shows a plan and asks for a yes."""
    knit_along = request.knit_along
    form = form or _confirm_form(request, now)
    moved = next((line for line in plan.lines if line.after and line.after != line.before), None)
    context = _context(request) | {
        "zone": knit_along.zone,
        "ask": plan.change.ask,
        "lines": _shown_lines(knit_along, plan),
        "sentences": _told(knit_along, plan, now),
        "abroad": _abroad(knit_along, moved.after) if moved and moved.after else [],
        "moved": moved,
        "lost": _lost(plan),
        "is_public": knit_along.are_dates_known(now),
        "form": form,
        "preview": sign_preview(plan, knit_along, request.user),
        "refusal": refusal,
    }
    status = STALE if refusal else 422 if form.errors else 200
    return render(request, "schedule/preview_change.html", context, status=status)


def _confirm_form(
    request: MemberRequest, now: datetime, data: dict[str, str] | None = None
) -> ConfirmForm:
    return ConfirmForm(
        data,
        is_public=request.knit_along.are_dates_known(now),
        mailed=request.knit_along.participants.wanting_notices().count(),
    )


def _shown_lines(knit_along: KnitAlong, plan: Plan) -> list[ShownLine]:
    zone = knit_along.zone
    after = _instants_after(knit_along, plan)
    return [
        ShownLine(
            number=line.clue.number,
            title=line.clue.title,
            before=instant_words(line.before, zone, zone),
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
        line.clue.number: line.after
        for line in plan.lines
        if line.after and line.kind == ScheduleChange.Kind.MOVED
    }


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
    if line.kind != ScheduleChange.Kind.MOVED or line.release is None:
        return []
    skipped = [line.release.remark] if line.release.moved_by else []
    before = after.get(line.clue.number - 1)
    return [*skipped, *clock_notes(before, line.release.at, zone=zone, reader=zone)]


def _told(knit_along: KnitAlong, plan: Plan, now: datetime) -> list[str]:
    """Return what participants will read, without the reason that is still to be given."""
    return [
        change_sentence(
            ScheduleChange(
                number=line.clue.number,
                kind=line.kind,
                before_at=line.before,
                after_at=line.after,
                at=now,
            ),
            lambda at: instant_words(at, knit_along.zone),
        )
        for line in plan.lines
    ]


def _abroad(knit_along: KnitAlong, at: datetime) -> list[tuple[str, int]]:
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


def _lost(plan: Plan) -> dict[str, int]:
    """Return how much is deleted with a clue that is removed."""
    for line in plan.lines:
        if line.kind == ScheduleChange.Kind.REMOVED:
            newest = line.clue.revision
            words = len(newest.body.split()) if newest else 0
            return {"words": words, "files": line.clue.attachments.count()}
    return {}


def _plan(request: MemberRequest, change: Change, now: datetime) -> Plan:
    clues = list(request.knit_along.clues.order_by("number"))
    return plan_change(request.knit_along, clues, change, now=now)


def _clue(request: MemberRequest, number: int) -> Clue:
    return get_object_or_404(Clue, knit_along=request.knit_along, number=number)


def refused_page(request: MemberRequest, refusal: str, status: int = 422) -> HttpResponse:
    context = _context(request) | {"refusal": refusal}
    return render(request, "schedule/refused.html", context, status=status)


def _context(request: MemberRequest) -> dict[str, object]:
    return {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "desk",
    }
