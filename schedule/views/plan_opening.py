"""The organiser opens the letter plan, at once or at an instant."""

from django.contrib import messages
from django.http import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from kal.http import MemberRequest, organiser_required, posted
from kal.wall_times import wall_of
from schedule.actions.letters import close_plan, open_plan
from schedule.letter_forms import OpeningForm
from schedule.models import LetterChoice, Meeting, PlanOpening
from schedule.views.reading import never_kept


@require_http_methods(["GET", "HEAD", "POST"])
@never_kept
@organiser_required
def letter_plan(request: MemberRequest) -> HttpResponseBase:
    """Show whether the letter plan is open; a POST opens it, or with `close` closes it."""
    now, knit_along = timezone.now(), request.knit_along
    if request.method == "POST" and "close" in request.POST:
        if close_plan(knit_along, by=request.user, now=now):
            messages.success(request, _("The letter plan is closed again."))
        return redirect("schedule:letter_plan", knit_along.slug)
    opening = PlanOpening.objects.filter(knit_along=knit_along).first()
    is_open = opening is not None and opening.is_open(now)
    initial = {"at": wall_of(opening.opens_at, knit_along.tz)} if opening and not is_open else {}
    form = OpeningForm(posted(request), knit_along=knit_along, now=now, initial=initial)
    if form.is_bound and form.is_valid():
        stored = open_plan(knit_along, at=form.cleaned_data["at"], by=request.user, now=now)
        said = (
            _("The letter plan is open.") if stored.is_open(now) else _("The opening is planned.")
        )
        messages.success(request, said)
        return redirect("schedule:letter_plan", knit_along.slug)
    met = {(one.first, one.second) for one in Meeting.objects.in_newest_revisions(knit_along)}
    context = {
        "knit_along": knit_along,
        "participant": request.participant,
        "section": "desk",
        "desk_section": "letters",
        "opening": opening,
        "is_open": is_open,
        "form": form,
        "pairs": len(met),
        "chosen": LetterChoice.objects.filter(
            participant__knit_along=knit_along, participant__left_at=None
        ).count(),
    }
    status = 422 if form.errors else 200
    return render(request, "schedule/letter_plan.html", context, status=status)
