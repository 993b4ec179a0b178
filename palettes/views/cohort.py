"""The colours of everybody who shows theirs, in one picture."""

from typing import Final

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from kal.http import MemberRequest, member_required
from palettes.cohort import see_cohort
from palettes.views.gallery import frame

YEAR: Final = 365 * 24 * 60 * 60


@member_required()
@require_GET
def cohort(request: MemberRequest) -> HttpResponse:
    context = {"cohort": see_cohort(request.knit_along), **frame(request)}
    return render(request, "palettes/cohort.html", context)


@member_required()
@require_GET
def cohort_picture(request: MemberRequest) -> HttpResponse:
    shown = see_cohort(request.knit_along)
    if not shown.picture:
        raise Http404
    response = HttpResponse(shown.picture, content_type="image/png")
    # Under its version the same picture will always be the same file.
    is_same = request.GET.get("version") == shown.version
    response["Cache-Control"] = f"private, max-age={YEAR}, immutable" if is_same else "no-store"
    return response
