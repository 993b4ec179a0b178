"""The organiser's schedule of clues: when each goes out, and whether it may."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.contrib import messages
from django.forms import BoundField
from django.http import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from kal.http import MemberRequest, organiser_required
from schedule import actions
from schedule.actions.change import stale_sentence
from schedule.changes import plan_change
from schedule.clock_words import clock_notes
from schedule.errors import ScheduleError
from schedule.forms import ScheduleForm
from schedule.models import Clue
from schedule.preflight import Remark, faults, preflight_all
from schedule.views.changing import STALE, preview_page, refused_page
from schedule.views.reading import never_kept


@dataclass(frozen=True)
class PlannedClue:
    """One clue on the organiser's schedule, with its field while it can be moved."""

    clue: Clue
    field: BoundField
    value: str
    state: str
    is_released: bool
    is_due: bool
    notes: Sequence[str]
    faults: int
    advice: int


@require_http_methods(["GET", "HEAD", "POST"])
@never_kept
@organiser_required
def desk_clues(request: MemberRequest) -> HttpResponseBase:
    now = timezone.now()
    clues = list(request.knit_along.clues.all())
    form = ScheduleForm(request.POST or None, knit_along=request.knit_along, clues=clues, now=now)
    stale = ""
    if request.method == "POST" and form.is_valid():
        if not form.is_stale:
            return _preview_times(request, form, clues, now)
        stale = stale_sentence(request.knit_along)
    context = _context(request) | {
        "form": form,
        "stale": stale,
        "seen": form.current,
        "planned": _planned_clues(clues, form, now),
        "zone": request.knit_along.zone,
    }
    status = 422 if form.errors else STALE if stale else 200
    return render(request, "schedule/desk_clues.html", context, status=status)


def _preview_times(
    request: MemberRequest, form: ScheduleForm, clues: list[Clue], now: datetime
) -> HttpResponseBase:
    change = form.change()
    if not change.times:
        messages.info(request, _("Nothing was changed."))
        return redirect("schedule:desk_clues", request.knit_along.slug)
    plan = plan_change(request.knit_along, clues, change, now=now)
    return preview_page(request, plan, now=now)


def _planned_clues(clues: list[Clue], form: ScheduleForm, now: datetime) -> list[PlannedClue]:
    found = preflight_all([clue for clue in clues if not clue.is_released(now)], now)
    return [
        _planned(clue, before, form, found.get(clue.pk, ()), now)
        for before, clue in zip([None, *clues], clues, strict=False)
    ]


def _planned(
    clue: Clue,
    before: Clue | None,
    form: ScheduleForm,
    remarks: Collection[Remark],
    now: datetime,
) -> PlannedClue:
    field = form.field_of(clue)
    earlier = before.release_at if before else None
    return PlannedClue(
        clue=clue,
        field=field,
        value=field.field.widget.format_value(field.value()) or "",
        state=state_of(clue, now),
        is_released=clue.is_released(now),
        is_due=clue.release_at <= now,
        notes=clock_notes(earlier, clue.release_at, zone=form.zone, reader=form.zone),
        faults=len(faults(remarks)),
        advice=len(remarks) - len(faults(remarks)),
    )


def state_of(clue: Clue, now: datetime) -> str:
    """Return in words whether a clue is out, and if not, why or when it will be."""
    if clue.is_out(now):
        return _("Out")
    is_late = clue.release_at <= now
    if clue.is_held:
        return _("Late: held back") if is_late else _("Held back")
    if clue.ready_at is None:
        return _("Late: not ready") if is_late else _("Not ready")
    return _("Ready, goes out by itself")


@require_POST
@never_kept
@organiser_required
def propose_all(request: MemberRequest) -> HttpResponseBase:
    proposed = actions.propose_clues(request.knit_along)
    count = len(proposed)
    said = ngettext(
        "{count} clue proposed; move it as you like.",
        "{count} clues proposed; move any of them as you like.",
        count,
    )
    messages.success(request, said.format(count=count))
    return redirect("schedule:desk_clues", request.knit_along.slug)


@require_POST
@never_kept
@organiser_required
def ready_clue(request: MemberRequest, number: int) -> HttpResponseBase:
    """Mark a clue ready, or with `ready=no` not ready."""
    clue, now = _clue(request, number), timezone.now()
    ready = request.POST.get("ready") != "no"
    try:
        stored = actions.mark_ready(clue, ready=ready, by=request.user, now=now)
    except ScheduleError as refused:
        return refused_page(request, str(refused), to_write=number)
    messages.success(request, _said(stored, now))
    return redirect("schedule:desk_clues", request.knit_along.slug)


def _said(clue: Clue, now: datetime) -> str:
    if clue.is_out(now):
        return _("Clue {number} is out, and mail is on its way.").format(number=clue.number)
    if clue.is_held:
        return _("Clue {number} is held back until you let it go.").format(number=clue.number)
    if clue.ready_at is None:
        return _("Clue {number} is not ready, and will not go out until it is.").format(
            number=clue.number
        )
    return _("Clue {number} is ready and goes out at its instant.").format(number=clue.number)


def _clue(request: MemberRequest, number: int) -> Clue:
    clue = get_object_or_404(Clue, knit_along=request.knit_along, number=number)
    clue.knit_along = request.knit_along
    return clue


def _context(request: MemberRequest) -> dict[str, object]:
    return {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "desk",
    }
