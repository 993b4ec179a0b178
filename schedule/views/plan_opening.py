"""The organiser opens the letter plan: at once after a second yes, or at an instant to come."""

from datetime import datetime

from django.contrib import messages
from django.http import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from kal.http import MemberRequest, form_status, organiser_required, posted
from kal.models import KnitAlong
from kal.wall_times import wall_of
from schedule.actions.letters import close_plan, open_plan
from schedule.letter_forms import OpeningForm
from schedule.models import LetterChoice, Meeting, PlanOpening
from schedule.views.reading import never_kept


@require_http_methods(["GET", "HEAD", "POST"])
@never_kept
@organiser_required
def letter_plan(request: MemberRequest) -> HttpResponseBase:
    """Show whether the letter plan is open; a POST opens it, or with `close` closes it.

    What opens at once cannot be taken back, so without `sure` it is asked about first.
    """
    now, knit_along = timezone.now(), request.knit_along
    if request.method == "POST" and "close" in request.POST:
        if close_plan(knit_along, by=request.user, now=now):
            messages.success(request, _("The letter plan is closed again."))
        return redirect("schedule:letter_plan", knit_along.slug)
    opening = PlanOpening.objects.filter(knit_along=knit_along).first()
    is_open = opening is not None and opening.is_open(now)
    initial = {"at": wall_of(opening.opens_at, knit_along.tz)} if opening and not is_open else {}
    form = OpeningForm(posted(request), knit_along=knit_along, now=now, initial=initial)
    asks = False
    if form.is_bound and form.is_valid():
        at = form.cleaned_data["at"]
        asks = not is_open and at <= now and "sure" not in request.POST
        if not asks:
            return _open(request, at, now)
    context = _facts(knit_along) | {
        "knit_along": knit_along,
        "participant": request.participant,
        "section": "desk",
        "desk_section": "letters",
        "opening": opening,
        "is_open": is_open,
        "form": form,
        "typed_at": request.POST.get("at", ""),
    }
    template = "schedule/open_letter_plan.html" if asks else "schedule/letter_plan.html"
    return render(request, template, context, status=form_status(form))


def _open(request: MemberRequest, at: datetime, now: datetime) -> HttpResponseBase:
    stored = open_plan(request.knit_along, at=at, by=request.user, now=now)
    is_open = stored.is_open(now)
    said = _("The letter plan is open.") if is_open else _("The opening is planned.")
    messages.success(request, said)
    return redirect("schedule:letter_plan", request.knit_along.slug)


def _facts(knit_along: KnitAlong) -> dict[str, object]:
    """Return what the plan rests on, and what it cannot know yet."""
    meetings = list(Meeting.objects.in_newest_revisions(knit_along))
    planned, written = knit_along.clues.count(), set(knit_along.clues.written())
    with_meetings = {one.clue for one in meetings}
    chosen = LetterChoice.objects.filter(
        participant__knit_along=knit_along, participant__left_at=None
    )
    return {
        "pairs": len({(one.first, one.second) for one in meetings}),
        "planned": planned,
        "unwritten": planned - len(written),
        "without_meetings": len(written - with_meetings),
        "chosen": chosen.count(),
    }
