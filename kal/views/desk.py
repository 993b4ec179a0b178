"""The organiser's desk: how the knit-along stands, its palettes' switch and its log."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from kal.actions.knit_alongs import close_palettes, open_palettes
from kal.http import MemberRequest, organiser_required
from kal.views.next_steps import clue_instants, desk_step
from palettes.models import Palette, Registration
from schedule.clock_words import countdown_words
from schedule.notices.alerts import unready

LOG_PAGE = 100


@organiser_required
@require_safe
def desk(request: MemberRequest) -> HttpResponse:
    now = timezone.now()
    knit_along = request.knit_along
    clues = clue_instants([knit_along.pk]).get(knit_along.pk, [])
    coming = next((clue for clue in clues if not clue.is_out(now)), None)
    active = {"participant__knit_along": knit_along, "participant__left_at": None}
    context = {
        "joined": knit_along.participants.active().count(),
        "registered": Registration.objects.filter(
            knit_along=knit_along, is_current=True, palette__participant__left_at=None
        ).count(),
        "started": Palette.objects.filter(**active).count(),
        "clues_out": sum(clue.is_out(now) for clue in clues),
        "clue_count": len(clues),
        "alerts": [(clue, countdown_words(now, clue.release_at)) for clue in unready(clues, now)],
        "step": desk_step(knit_along, coming, now),
        "is_sign_up_open": knit_along.is_sign_up_open(now),
        "is_sign_up_over": now >= knit_along.sign_up_closes_at,
        "are_palettes_open": knit_along.are_palettes_open(now),
    }
    return desk_page(request, "kal/desk.html", context, desk_section="desk")


@organiser_required
@require_POST
def palettes_switch(request: MemberRequest) -> HttpResponse:
    now = timezone.now()
    if request.POST.get("open") == "yes":
        open_palettes(request.knit_along, by=request.user, now=now)
        messages.success(request, "Palettes are open: participants can change theirs.")
    else:
        close_palettes(request.knit_along, by=request.user, now=now)
        messages.success(request, "Palettes are closed: they stay as they are registered.")
    return redirect("kal:desk", request.knit_along.slug)


@organiser_required
@require_safe
def audit_log(request: MemberRequest) -> HttpResponse:
    entries = request.knit_along.audit_log.select_related("actor")
    page = Paginator(entries, LOG_PAGE).get_page(request.GET.get("page"))
    return desk_page(request, "kal/audit_log.html", {"page": page}, desk_section="log")


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
