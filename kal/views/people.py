"""The organiser's list of people: finding them, their roles, sending away and letting back."""

from collections.abc import Callable

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Exists, OuterRef
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from kal.actions import people as acts
from kal.desk.pages import desk_page, query_but_page
from kal.errors import LastOrganiser
from kal.forms.joining import RemovalForm
from kal.forms.people import RoleForm
from kal.http import MemberRequest, organiser_required
from kal.models import Participant, Removal, Role
from palettes.models import Registration

PEOPLE_PAGE = 50


@organiser_required
@require_safe
def people(request: MemberRequest) -> HttpResponse:
    return people_page(request)


@organiser_required
@require_POST
def change_role(request: MemberRequest, pk: int) -> HttpResponse:
    participant = get_object_or_404(request.knit_along.participants.active(), pk=pk)
    form = RoleForm(request.POST)
    if not form.is_valid():
        return people_page(request, problem=_("Choose a role from the list."))
    role = Role(form.cleaned_data["role"])

    def act() -> str:
        acts.change_role(participant, role, by=request.user, now=timezone.now())
        return _("{user} is now {role_name}.").format(
            user=participant.user, role_name=participant.role_name
        )

    return try_act(request, act)


@organiser_required
@require_POST
def remove(request: MemberRequest, pk: int) -> HttpResponse:
    participant = get_object_or_404(request.knit_along.participants.active(), pk=pk)
    form = RemovalForm(request.POST)
    if not form.is_valid():
        return people_page(request, problem=_("Say why in at most 200 letters, from the list."))

    def act() -> str:
        acts.remove_participant(
            participant, by=request.user, now=timezone.now(), **form.cleaned_data
        )
        if participant.removal == Removal.REFUNDED:
            said = _("%(person)s is refunded: access has ended, and what they brought is kept.")
            return said % {"person": participant.user}
        return _("{user} has been removed and cannot join again.").format(user=participant.user)

    return try_act(request, act)


@organiser_required
@require_POST
def let_back(request: MemberRequest, pk: int) -> HttpResponse:
    removed = request.knit_along.participants.filter(removed_at__isnull=False)
    participant = get_object_or_404(removed, pk=pk)

    def act() -> str:
        acts.let_back(participant, by=request.user, now=timezone.now())
        return _("{user} takes part again.").format(user=participant.user)

    return try_act(request, act)


def try_act(request: MemberRequest, act: Callable[[], str]) -> HttpResponse:
    """Do one act and go back to the same part of the list; a refusal is told on the page."""
    try:
        done = act()
    except LastOrganiser as refusal:
        return people_page(request, problem=str(refusal))
    messages.success(request, done)
    if not Participant.objects.organisers().filter(pk=request.participant.pk).exists():
        # They gave their own desk away, so its pages are closed to them now.
        return redirect("kal:home")
    address = reverse("kal:people", args=[request.knit_along.slug])
    query = request.GET.urlencode()
    return redirect(f"{address}?{query}" if query else address)


def people_page(request: MemberRequest, *, problem: str = "") -> HttpResponse:
    words = request.GET.get("q", "").strip()[:80]
    shows_removed = request.GET.get("show") == "removed"
    current = Registration.objects.filter(palette__participant=OuterRef("pk"), is_current=True)
    everyone = request.knit_along.participants.select_related("user")
    chosen = everyone.filter(removed_at__isnull=False) if shows_removed else everyone.active()
    found = chosen.named(words).annotate(has_palette=Exists(current)).order_by("-joined_at", "-pk")
    context = {
        "page": Paginator(found, PEOPLE_PAGE).get_page(request.GET.get("page")),
        "words": words,
        "shows_removed": shows_removed,
        "roles": Role.choices,
        "query": request.GET.urlencode(),
        "pages_query": query_but_page(request),
        "problem": problem,
    }
    status = 422 if problem else 200
    return desk_page(request, "kal/people.html", context, desk_section="people", status=status)
