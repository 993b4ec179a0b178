"""Changing the schedule: each change is shown first, on a page of its own, and made on a yes."""

from datetime import datetime

from django.contrib import messages
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from kal.http import MemberRequest, form_status, organiser_required
from schedule import actions
from schedule.announcement import sentences_for
from schedule.changes import (
    Ask,
    Change,
    Plan,
    plan_change,
    proposed_addition,
    read_preview,
    sign_preview,
)
from schedule.errors import ReasonMissing, ScheduleError, StaleSchedule
from schedule.forms import AdditionForm, ConfirmForm, MoveForm
from schedule.models import Clue
from schedule.previews import abroad, lost, shown_lines, told
from schedule.views.reading import never_kept

STALE = 409


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
        form.add_error(None, plan.refusal)
    context = _context(request) | {"clue": clue, "form": form, "zone": request.knit_along.zone}
    return render(request, "schedule/move_clue.html", context, status=form_status(form))


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


@require_safe
@never_kept
@organiser_required
def add_clue(request: MemberRequest) -> HttpResponseBase:
    """Show what one more clue at the end means: as proposed, or at the wall time `local`."""
    now = timezone.now()
    plan = _plan_of_addition(request, now)
    if plan.problems:
        return refused_page(request, plan.refusal)
    form = AdditionForm(request.GET if "local" in request.GET else None)
    if form.is_valid():
        asked = _plan(request, form.change(), now)
        if not asked.problems:
            return preview_page(request, asked, now=now)
        form.add_error("local", asked.refusal)
    return preview_page(request, plan, now=now, time_form=form if form.is_bound else None)


def _plan_of_addition(request: MemberRequest, now: datetime) -> Plan:
    clues = list(request.knit_along.clues.all())
    return _plan(request, proposed_addition(request.knit_along, clues, now), now)


def _shown(request: MemberRequest, change: Change) -> HttpResponseBase:
    _clue(request, change.number)
    now = timezone.now()
    plan = _plan(request, change, now)
    if plan.problems:
        return refused_page(request, plan.refusal)
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
    if plan.problems and change.ask == Ask.ADD:
        # Another organiser has added one at that instant: this would be the next.
        plan = _plan_of_addition(request, now)
    if plan.problems:
        return refused_page(request, f"{sentence} {plan.refusal}", STALE)
    return preview_page(request, plan, now=now, form=form, refusal=sentence)


def _say(request: MemberRequest, done: actions.Done, now: datetime) -> None:
    zone = request.knit_along.zone
    for sentence in sentences_for(done.changes, zone, zone):
        messages.success(request, sentence)
    if done.mailed:
        said = ngettext(
            "%(count)d mail is on its way, mail to hosts counted in.",
            "%(count)d mails are on their way, mail to hosts counted in.",
            done.mailed,
        )
        messages.info(request, said % {"count": done.mailed})
    released = {change.clue_id for change in done.changes if change.clue_id}
    for clue in Clue.objects.out(now).filter(pk__in=released):
        messages.success(
            request, _("Clue {number} is out, and mail is on its way.").format(number=clue.number)
        )


def preview_page(
    request: MemberRequest,
    plan: Plan,
    *,
    now: datetime,
    form: ConfirmForm | None = None,
    time_form: AdditionForm | None = None,
    refusal: str = "",
) -> HttpResponse:
    """Return the page that shows a plan and asks for a yes."""
    knit_along = request.knit_along
    form = form or _confirm_form(request, now)
    moved = next((line for line in plan.lines if line.has_new_instant), None)
    context = _context(request) | {
        "zone": knit_along.zone,
        "ask": plan.change.ask,
        "lines": shown_lines(knit_along, plan),
        "sentences": told(knit_along, plan, now),
        "abroad": abroad(knit_along, moved.after) if moved and moved.after else [],
        "moved": moved,
        "lost": lost(plan),
        "is_public": knit_along.are_dates_known(now),
        "form": form,
        "time_form": time_form or _time_form(plan),
        "preview": sign_preview(plan, knit_along, request.user),
        "refusal": refusal,
    }
    is_refused = form.errors or (time_form and time_form.errors)
    status = STALE if refusal else 422 if is_refused else 200
    return render(request, "schedule/preview_change.html", context, status=status)


def _time_form(plan: Plan) -> AdditionForm | None:
    """Return the form to see an added clue at another time; other changes have their own pages."""
    if plan.change.ask != Ask.ADD:
        return None
    return AdditionForm(initial={"local": datetime.fromisoformat(plan.change.local)})


def _confirm_form(
    request: MemberRequest, now: datetime, data: dict[str, str] | None = None
) -> ConfirmForm:
    return ConfirmForm(
        data,
        is_public=request.knit_along.are_dates_known(now),
        mailed=request.knit_along.participants.knitting().wanting_notices().count(),
    )


def _plan(request: MemberRequest, change: Change, now: datetime) -> Plan:
    clues = list(request.knit_along.clues.order_by("number"))
    return plan_change(request.knit_along, clues, change, now=now)


def _clue(request: MemberRequest, number: int) -> Clue:
    return get_object_or_404(Clue, knit_along=request.knit_along, number=number)


def refused_page(
    request: MemberRequest, refusal: str, status: int = 422, *, to_write: int | None = None
) -> HttpResponse:
    """Say what was refused; `to_write` is the number of the clue in which it can be mended."""
    context = _context(request) | {"refusal": refusal, "to_write": to_write}
    return render(request, "schedule/refused.html", context, status=status)


def _context(request: MemberRequest) -> dict[str, object]:
    return {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "desk",
    }
