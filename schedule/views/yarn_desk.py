"""The organiser's pages of the pattern's arithmetic: yarn, stitches, and hours a week."""

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from kal.http import MemberRequest, organiser_required, posted
from schedule.actions import set_reserve
from schedule.own_pace import Weeks, weeks_of
from schedule.pattern.pace import DEFAULT_PACE, LONG_WEEK_HOURS
from schedule.views.reading import never_kept
from schedule.yarn_desk import counts_desk, yarn_desk
from schedule.yarn_forms import ReserveForm
from schedule.yarn_plan import reserve_of

# Units of the drawing, pixels on a phone: a row for each bar, its label left and its number right.
BAR_ROW, BAR_LEFT, BAR_WIDTH, DRAWING_WIDTH = 34, 70, 210, 350


@dataclass(frozen=True)
class WeekBar:
    """One clue's hours a week as a bar, and a thin line from the fastest to the slowest."""

    number: int
    hours: float
    low: float
    high: float
    y: int
    width: float
    low_x: float
    high_x: float

    @property
    def text_y(self) -> int:
        return self.y + 17

    @property
    def middle_y(self) -> int:
        return self.y + 12


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
        "desk_section": "yarn",
    }
    return _page(request, "schedule/desk_yarn.html", context, status=422 if form.errors else 200)


@require_safe
@never_kept
@organiser_required
def desk_counts(request: MemberRequest) -> HttpResponseBase:
    context = {"desk": counts_desk(request.knit_along), "desk_section": "counts"}
    return _page(request, "schedule/desk_counts.html", context)


@require_safe
@never_kept
@organiser_required
def desk_pace(request: MemberRequest) -> HttpResponseBase:
    weeks = weeks_of(request.knit_along)
    bars = week_bars(weeks)
    context = {
        "weeks": weeks,
        "bars": bars,
        "height": BAR_ROW * len(bars),
        "width": DRAWING_WIDTH,
        "bar_left": BAR_LEFT,
        "bar_width": BAR_WIDTH,
        "number_x": BAR_LEFT + BAR_WIDTH + 8,
        "pace": DEFAULT_PACE,
        "long_week": LONG_WEEK_HOURS,
        "desk_section": "pace",
    }
    return _page(request, "schedule/desk_pace.html", context)


def week_bars(weeks: Weeks) -> list[WeekBar]:
    """Return a bar for each week, the slowest knitter's longest week filling the width."""
    most = max((week.hours.high for _clue, week in weeks.clues), default=0) or 1
    scale = BAR_WIDTH / most
    return [
        WeekBar(
            clue.number,
            week.hours.likely,
            week.hours.low,
            week.hours.high,
            place * BAR_ROW,
            round(week.hours.likely * scale, 1),
            round(BAR_LEFT + week.hours.low * scale, 1),
            round(BAR_LEFT + week.hours.high * scale, 1),
        )
        for place, (clue, week) in enumerate(weeks.clues)
    ]


def _page(
    request: MemberRequest, template: str, context: dict[str, object], *, status: int = 200
) -> HttpResponse:
    common = {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "desk",
    }
    return render(request, template, common | context, status=status)
