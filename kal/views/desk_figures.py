"""The desk's figures, each by its own address: fetched after the page, alone, or as a table."""

from django.http import Http404, HttpResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from django.views.decorators.vary import vary_on_headers

from kal.desk.pages import desk_page
from kal.desk.parts import Figure
from kal.http import MemberRequest, organiser_required, wants_fragment
from kal.spreadsheets import csv_response
from kal.views.desk_parts import FIGURES


@require_safe
@never_cache
@vary_on_headers("HX-Request")
@organiser_required
def desk_figure(request: MemberRequest, figure: str) -> HttpResponse:
    """Show one figure: alone for htmx, else on a page that leads to the others."""
    context = {
        "name": figure,
        "figure": _figure(request, figure),
        "kind": FIGURES[figure],
        "figures": FIGURES,
    }
    part = "#figure" if wants_fragment(request) else ""
    return desk_page(request, f"kal/desk_figure.html{part}", context, desk_section="desk")


@require_safe
@never_cache
@organiser_required
def desk_figure_table(request: MemberRequest, figure: str) -> HttpResponse:
    """Hand out the figure's table for a spreadsheet."""
    found = _figure(request, figure)
    return csv_response(f"{request.knit_along.slug}-{figure}", [found.columns, *found.rows])


def _figure(request: MemberRequest, name: str) -> Figure:
    if name not in FIGURES:
        raise Http404
    return FIGURES[name].make(request.knit_along, timezone.now())
