"""The organiser's dry run of the kits; nobody else may know the meetings it tells of."""

from django.http import HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from kal.http import MemberRequest, organiser_required
from palettes.models.named_yarn import name_yarns
from schedule.kit_runs import try_kits
from schedule.views.reading import never_kept


@require_safe
@never_kept
@organiser_required
def kit_run_page(request: MemberRequest) -> HttpResponseBase:
    as_if_planned = "as_if_planned" in request.GET
    runs, meetings = try_kits(request.knit_along, now=timezone.now(), as_if_planned=as_if_planned)
    name_yarns([yarn for run in runs for yarn in run.yarns])
    context = {
        "runs": runs,
        "meetings": meetings,
        "as_if_planned": as_if_planned,
        "participant": request.participant,
        "knit_along": request.knit_along,
        "section": "desk",
        "desk_section": "kits",
    }
    return render(request, "schedule/kit_run.html", context)
