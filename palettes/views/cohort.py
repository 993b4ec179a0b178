"""The colours of everybody who shows theirs, in one picture."""

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from kal.http import MemberRequest, frame, member_required
from palettes.cohort import see_cohort
from palettes.views.answers import send_picture


@member_required()
@require_GET
def cohort(request: MemberRequest) -> HttpResponse:
    context = {"cohort": see_cohort(request.knit_along), **frame(request, "gallery")}
    return render(request, "palettes/cohort.html", context)


@member_required()
@require_GET
def cohort_picture(request: MemberRequest) -> HttpResponse:
    shown = see_cohort(request.knit_along)
    if not shown.picture:
        raise Http404
    return send_picture(request, shown.picture, "image/png", shown.version)
