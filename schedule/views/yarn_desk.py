"""The organiser's pages of the pattern's arithmetic: yarn, stitches, and hours a week."""

from django.contrib import messages
from django.http import HttpResponseBase
from django.shortcuts import redirect
from django.template.defaultfilters import floatformat
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from kal.desk.pages import desk_page
from kal.http import MemberRequest, form_status, organiser_required, posted
from kal.plots import Bars, bars
from schedule.actions import set_reserve
from schedule.own_pace import Weeks, weeks_of
from schedule.pattern.pace import DEFAULT_PACE, LONG_WEEK_HOURS
from schedule.views.reading import never_kept
from schedule.yarn_desk import counts_desk, yarn_desk
from schedule.yarn_forms import ReserveForm
from schedule.yarn_plan import reserve_of


@require_http_methods(["GET", "HEAD", "POST"])
@never_kept
@organiser_required
def desk_yarn(request: MemberRequest) -> HttpResponseBase:
    """Show what is asked for against what the clues take; a POST names the reserve."""
    now, knit_along = timezone.now(), request.knit_along
    form = ReserveForm(posted(request), initial={"percent": reserve_of(knit_along)})
    if form.is_bound and form.is_valid():
        set_reserve(knit_along, form.cleaned_data["percent"], by=request.user, now=now)
        messages.success(request, _("The reserve is noted."))
        return redirect("schedule:desk_yarn", knit_along.slug)
    context = {
        "desk": yarn_desk(knit_along, request.user, now),
        "form": form,
    }
    status = form_status(form)
    return desk_page(
        request, "schedule/desk_yarn.html", context, desk_section="yarn", status=status
    )


@require_safe
@never_kept
@organiser_required
def desk_counts(request: MemberRequest) -> HttpResponseBase:
    context: dict[str, object] = {"desk": counts_desk(request.knit_along)}
    return desk_page(request, "schedule/desk_counts.html", context, desk_section="counts")


@require_safe
@never_kept
@organiser_required
def desk_pace(request: MemberRequest) -> HttpResponseBase:
    weeks = weeks_of(request.knit_along)
    context: dict[str, object] = {
        "weeks": weeks,
        "drawing": week_bars(weeks),
        "pace": DEFAULT_PACE,
        "long_week": LONG_WEEK_HOURS,
    }
    return desk_page(request, "schedule/desk_pace.html", context, desk_section="pace")


def week_bars(weeks: Weeks) -> Bars | None:
    """Return a bar for each week, the slowest knitter's longest week filling the width.

    A thin line reaches from the fastest pace to the slowest.
    """
    found = [(clue, week.hours) for clue, week in weeks.clues]
    return bars(
        [
            (
                _("Clue %(number)d") % {"number": clue.number},
                hours.likely,
                floatformat(hours.likely, 1),
            )
            for clue, hours in found
        ],
        out_of=[max((hours.high for _clue, hours in found), default=0)] * len(found),
        spans=[(hours.low, hours.high) for _clue, hours in found],
    )
