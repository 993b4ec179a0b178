"""The organiser's kits: whom to invite, and what to approve or send back."""

from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Case, QuerySet, Value, When
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from kal.http import MemberRequest, frame, organiser_required, posted
from palettes import kit_actions
from palettes.errors import PaletteError
from palettes.kit_forms import DeclineForm, MakerForm
from palettes.models import Kit, KitMaker
from palettes.models.named_yarn import name_yarns
from palettes.views.answers import UNPROCESSABLE
from palettes.workspace import read_kit

KITS_PAGE = 50
WAITING_FIRST = Case(
    When(state=Kit.State.PROPOSED, then=Value(0)),
    When(state=Kit.State.APPROVED, then=Value(1)),
    default=Value(2),
)


@organiser_required
@require_http_methods(["GET", "HEAD", "POST"])
def desk_kits(request: MemberRequest) -> HttpResponse:
    form = MakerForm(posted(request), instance=KitMaker(knit_along=request.knit_along))
    if form.is_bound and form.is_valid():
        maker = kit_actions.invite_maker(
            request.knit_along, by=request.user, now=timezone.now(), **form.cleaned_data
        )
        said = _("%(maker)s may propose kits now; send them the address below.")
        messages.success(request, said % {"maker": maker.name})
        return redirect("palettes:desk_kits", request.knit_along.slug)
    kits = _proposed_kits(request).order_by(WAITING_FIRST, "-proposed_at", "-pk")
    page = Paginator(kits.select_related("maker"), KITS_PAGE).get_page(request.GET.get("page"))
    name_yarns([yarn for kit in page for yarn in kit.yarns.all()])
    own_kits = reverse("palettes:own_kits", args=[request.knit_along.slug])
    context = {
        "form": form,
        "page": page,
        "makers": request.knit_along.kit_makers.filter(withdrawn_at=None),
        "link": f"{settings.BASE_URL}{own_kits}",
        **frame(request, "desk", desk_section="kits"),
    }
    status = UNPROCESSABLE if form.errors else None
    return render(request, "palettes/desk_kits.html", context, status=status)


@organiser_required
@require_safe
def desk_kit(request: MemberRequest, pk: int) -> HttpResponse:
    return _show(request, _kit(request, pk))


@organiser_required
@require_POST
def approve_kit(request: MemberRequest, pk: int) -> HttpResponse:
    kit = _kit(request, pk)
    try:
        kit_actions.approve(kit, by=request.user, now=timezone.now())
    except PaletteError as error:
        return _show(request, _kit(request, pk), alert=str(error))
    said = _("Participants see “%(kit)s” now, and can adopt it.")
    messages.success(request, said % {"kit": kit.title})
    return redirect("palettes:desk_kits", request.knit_along.slug)


@organiser_required
@require_POST
def decline_kit(request: MemberRequest, pk: int) -> HttpResponse:
    kit, form = _kit(request, pk), DeclineForm(request.POST)
    if not form.is_valid():
        return _show(request, kit, form=form)
    try:
        kit_actions.decline(
            kit, reason=form.cleaned_data["reason"], by=request.user, now=timezone.now()
        )
    except PaletteError as error:
        return _show(request, _kit(request, pk), form=form, alert=str(error))
    said = _("“%(kit)s” went back to its maker with your reason.") % {"kit": kit.title}
    messages.success(request, said)
    return redirect("palettes:desk_kits", request.knit_along.slug)


@organiser_required
@require_POST
def withdraw_maker(request: MemberRequest, pk: int) -> HttpResponse:
    maker = get_object_or_404(request.knit_along.kit_makers, pk=pk)
    kit_actions.withdraw_maker(maker, by=request.user, now=timezone.now())
    said = _("The invitation of %(maker)s has ended; their kits are not shown any more.")
    messages.success(request, said % {"maker": maker.name})
    return redirect("palettes:desk_kits", request.knit_along.slug)


def _kit(request: MemberRequest, pk: int) -> Kit:
    return get_object_or_404(_proposed_kits(request).select_related("maker__knit_along"), pk=pk)


def _proposed_kits(request: MemberRequest) -> QuerySet[Kit]:
    """Return the kits with their yarns; a draft is its maker's own until it is proposed."""
    kits = Kit.objects.filter(maker__knit_along=request.knit_along)
    return kits.exclude(state=Kit.State.DRAFT).prefetch_related("yarns")


def _show(
    request: MemberRequest, kit: Kit, *, form: DeclineForm | None = None, alert: str = ""
) -> HttpResponse:
    context = {
        **read_kit(kit, request.knit_along, request.user),
        "form": form or DeclineForm(),
        "alert": alert,
        **frame(request, "desk", desk_section="kits"),
    }
    status = UNPROCESSABLE if alert or (form and form.errors) else None
    return render(request, "palettes/desk_kit.html", context, status=status)
