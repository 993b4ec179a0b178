"""What every page of the desk shares, whichever app draws it."""

from django.http import HttpResponse
from django.shortcuts import render

from kal.http import MemberRequest


def desk_page(
    request: MemberRequest,
    template: str,
    context: dict[str, object],
    *,
    desk_section: str,
    status: int = 200,
) -> HttpResponse:
    """Render one page of the desk, with what all of them need."""
    common = {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "desk",
        "desk_section": desk_section,
    }
    return render(request, template, common | context, status=status)


def query_but_page(request: MemberRequest) -> str:
    """Return the query a list was asked with, to stand before another page's number."""
    kept = request.GET.copy()
    kept.pop("page", None)
    return f"{kept.urlencode()}&" if kept else ""
