"""The kits that participants may look at, and adopting one."""

from typing import Final

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from kal.http import MemberRequest, frame, member_required
from palettes.adopting import adopt_kit
from palettes.choosing import Choice
from palettes.errors import PaletteError
from palettes.models import Kit, Palette
from palettes.models.named_yarn import name_yarns
from palettes.views.answers import UNPROCESSABLE, own_yarns
from palettes.workspace import read_kit

KITS_PAGE: Final = 24


@member_required()
@require_safe
def kits_page(request: MemberRequest) -> HttpResponse:
    shown = Kit.objects.shown_in(request.knit_along).select_related("maker")
    paginator = Paginator(shown.prefetch_related("yarns"), KITS_PAGE)
    page = paginator.get_page(request.GET.get("page"))
    name_yarns([yarn for kit in page for yarn in kit.yarns.all()])
    own = Palette.objects.filter(participant=request.participant).values_list("kit", flat=True)
    context = {"page": page, "own_kit": own.first(), **frame(request, "palette")}
    return render(request, "palettes/kits.html", context)


@member_required()
@require_safe
def kit_page(request: MemberRequest, pk: int) -> HttpResponse:
    return _show(request, _shown_kit(request, pk))


@member_required()
@require_POST
def adopt(request: MemberRequest, pk: int) -> HttpResponse:
    kit = _shown_kit(request, pk)
    try:
        before = adopt_kit(kit, request.participant, now=timezone.now())
    except PaletteError as error:
        return _show(request, kit, alert=str(error))
    messages.success(request, _said(request, kit, before))
    return redirect("palettes:palette", request.knit_along.slug)


def _said(request: MemberRequest, kit: Kit, before: Choice) -> str:
    said = _("The yarns of “%(kit)s” are chosen now; change what you like.") % {"kit": kit.title}
    yarns = {yarn.pk: yarn for yarn in own_yarns(request)}
    aside = [yarns[key].name for key in before.chosen if not yarns[key].is_chosen]
    if aside:
        said += " " + _("Set aside, and kept: %(yarns)s.") % {"yarns": "; ".join(aside)}
    return said


def _shown_kit(request: MemberRequest, pk: int) -> Kit:
    shown = Kit.objects.shown_in(request.knit_along).select_related("maker__knit_along")
    return get_object_or_404(shown.prefetch_related("yarns"), pk=pk)


def _show(request: MemberRequest, kit: Kit, *, alert: str = "") -> HttpResponse:
    context = {
        **read_kit(kit, request.knit_along, request.user),
        "alert": alert,
        "is_open": request.knit_along.are_palettes_open(timezone.now()),
        **frame(request, "palette"),
    }
    status = UNPROCESSABLE if alert else None
    return render(request, "palettes/kit.html", context, status=status)
