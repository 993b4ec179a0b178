"""The organiser's desk: how the knit-along stands, its palettes' switch and its log."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from kal.actions.knit_alongs import close_palettes, open_palettes
from kal.desk.pages import desk_page
from kal.http import MemberRequest, organiser_required
from kal.views.desk_parts import FIGURES, PANELS

LOG_PAGE = 100
TODOS_SHOWN = 5  # our choice: more than a hand's fingers is no list for today


@organiser_required
@require_safe
def desk(request: MemberRequest) -> HttpResponse:
    """Show how the knit-along stands: what to do first, each subject's facts, then figures."""
    now = timezone.now()
    panels = [make(request.knit_along, now) for make in PANELS]
    # Nothing can be done in an archived knit-along.
    found = [] if request.knit_along.archived_at else [one for p in panels for one in p.todos]
    todos = sorted(found, key=lambda todo: todo.due)
    context = {
        "panels": panels,
        "todos": todos[:TODOS_SHOWN],
        "later": todos[TODOS_SHOWN:],
        "figures": FIGURES,
        "are_palettes_open": request.knit_along.are_palettes_open(now),
    }
    return desk_page(request, "kal/desk.html", context, desk_section="desk")


@organiser_required
@require_POST
def palettes_switch(request: MemberRequest) -> HttpResponse:
    now = timezone.now()
    if request.POST.get("open") == "yes":
        open_palettes(request.knit_along, by=request.user, now=now)
        messages.success(request, _("Palettes are open: participants can change theirs."))
    else:
        close_palettes(request.knit_along, by=request.user, now=now)
        messages.success(request, _("Palettes are closed: they stay as they are registered."))
    return redirect("kal:desk", request.knit_along.slug)


@organiser_required
@require_safe
def audit_log(request: MemberRequest) -> HttpResponse:
    entries = request.knit_along.audit_log.select_related("actor")
    page = Paginator(entries, LOG_PAGE).get_page(request.GET.get("page"))
    return desk_page(request, "kal/audit_log.html", {"page": page}, desk_section="log")
