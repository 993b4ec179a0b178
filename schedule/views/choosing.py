"""Where a participant says which way of a section to show first."""

from django.http import Http404, HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from kal.http import MemberRequest, member_required
from schedule.actions import choose_way, prefer_harder_way
from schedule.reading import OpenClue, open_clue
from schedule.views.reading import never_kept


@require_POST
@never_kept
@member_required()
def choose(request: MemberRequest, number: int) -> HttpResponseBase:
    """Choose the `way` of a `section`, or with `first` which way is shown where none is chosen."""
    opened = open_clue(request.participant, number, timezone.now())
    if opened is None:
        raise Http404
    place = ""
    if "first" in request.POST:
        prefer_harder_way(request.participant, harder=request.POST["first"] == "harder")
    else:
        place = _chosen_section(request, opened)
    address = reverse("schedule:clue", args=[request.knit_along.slug, number])
    return redirect(f"{address}#section-{place}" if place else address)


def _chosen_section(request: MemberRequest, opened: OpenClue) -> str:
    key, way = request.POST.get("section", ""), request.POST.get("way", "")
    for section in opened.content.sections:
        if section.key == key and way in {shown.key for shown in section.ways}:
            choose_way(request.participant, key, way)
            return key
    raise Http404
