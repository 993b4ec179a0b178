"""The pages on which a shop or dyer puts kits together, proposes them and keeps them current."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from kal.http import membership_of, posted
from palettes import kit_actions
from palettes.errors import PaletteError
from palettes.kit_access import MakerRequest, maker_required
from palettes.kit_forms import KitForm, KitYarnForm, StockForm
from palettes.models import Kit, KitYarn
from palettes.models.named_yarn import name_yarns
from palettes.views.answers import UNPROCESSABLE
from palettes.workspace import read_kit


@maker_required
@require_safe
def own_kits(request: MakerRequest) -> HttpResponse:
    kits = list(request.maker.kits.prefetch_related("yarns").order_by("pk"))
    name_yarns([yarn for kit in kits for yarn in kit.yarns.all()])
    return render(request, "palettes/own_kits.html", {"kits": kits, **maker_frame(request)})


@maker_required
@require_http_methods(["GET", "HEAD", "POST"])
def new_kit(request: MakerRequest) -> HttpResponse:
    form = KitForm(posted(request), instance=Kit(maker=request.maker))
    if form.is_bound and form.is_valid():
        try:
            kit_actions.save_kit(form.instance, now=timezone.now())
        except PaletteError as error:
            form.add_error(None, str(error))
        else:
            return _to(request, form.instance)
    context = {"form": form, **maker_frame(request)}
    status = UNPROCESSABLE if form.errors else None
    return render(request, "palettes/new_kit.html", context, status=status)


@maker_required
@require_http_methods(["GET", "HEAD", "POST"])
def own_kit(request: MakerRequest, pk: int) -> HttpResponse:
    """Show one kit; what is posted are its words, or only link and stock once it is proposed."""
    kit = own_kit_of(request, pk)
    if request.method != "POST":
        return _show(request, kit)
    form = _words_form(kit, request.POST)
    if not form.is_valid():
        # Read anew, as the form has filled in the kit it was given.
        return _show(request, own_kit_of(request, pk), form=form)
    save = kit_actions.save_kit if kit.may_change else kit_actions.say_stock
    return _try(request, kit, lambda: save(kit, now=timezone.now()), _("Saved, and dated today."))


@maker_required
@require_POST
def add_kit_yarn(request: MakerRequest, pk: int) -> HttpResponse:
    kit = own_kit_of(request, pk)
    form = KitYarnForm(request.POST, user=request.user, instance=KitYarn(kit=kit))
    if not form.is_valid():
        return _show(request, kit, yarn_form=form)
    try:
        kit_actions.save_yarn(form.instance)  # type: ignore[arg-type]
    except PaletteError as error:
        return _show(request, kit, yarn_form=form, alert=str(error))
    messages.success(request, _("%(yarn)s is in the kit.") % {"yarn": form.instance.name})
    return _to(request, kit)


@maker_required
@require_http_methods(["GET", "HEAD", "POST"])
def kit_yarn(request: MakerRequest, pk: int) -> HttpResponse:
    yarn = _own_yarn(request, pk)
    form = KitYarnForm(posted(request), user=request.user, instance=yarn)
    if form.is_bound and form.is_valid():
        try:
            kit_actions.save_yarn(yarn)
        except PaletteError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, _("%(yarn)s is saved.") % {"yarn": yarn.name})
            return _to(request, yarn.kit)
    # Read anew, as a form that was sent has filled in the yarn it was given.
    shown = _own_yarn(request, pk) if form.is_bound else yarn
    context = {"form": form, "yarn": shown, "kit": yarn.kit, **maker_frame(request)}
    status = UNPROCESSABLE if form.errors else None
    return render(request, "palettes/kit_yarn.html", context, status=status)


@maker_required
@require_POST
def move_kit_yarn(request: MakerRequest, pk: int) -> HttpResponse:
    yarn = _own_yarn(request, pk)
    said = _("%(yarn)s is one place further up.") % {"yarn": yarn.name}
    return _try(request, yarn.kit, lambda: kit_actions.move_yarn_up(yarn), said)


@maker_required
@require_POST
def remove_kit_yarn(request: MakerRequest, pk: int) -> HttpResponse:
    yarn = _own_yarn(request, pk)
    said = _("%(yarn)s is no longer in the kit.") % {"yarn": yarn.name}
    return _try(request, yarn.kit, lambda: kit_actions.remove_yarn(yarn), said)


@maker_required
@require_POST
def propose(request: MakerRequest, pk: int) -> HttpResponse:
    kit = own_kit_of(request, pk)
    said = _("“%(kit)s” is proposed; the organiser will look at it.") % {"kit": kit.title}
    return _try(request, kit, lambda: kit_actions.propose(kit, now=timezone.now()), said)


@maker_required
@require_POST
def take_back(request: MakerRequest, pk: int) -> HttpResponse:
    kit = own_kit_of(request, pk)
    said = _("“%(kit)s” is yours to change again, and not shown until it is approved anew.")
    return _try(request, kit, lambda: kit_actions.take_back(kit), said % {"kit": kit.title})


def own_kit_of(request: MakerRequest, pk: int) -> Kit:
    own = request.maker.kits.select_related("maker__knit_along").prefetch_related("yarns")
    return get_object_or_404(own, pk=pk)


def _own_yarn(request: MakerRequest, pk: int) -> KitYarn:
    own = KitYarn.objects.filter(kit__maker=request.maker)
    return get_object_or_404(own.select_related("kit__maker__knit_along"), pk=pk)


def _words_form(kit: Kit, data: QueryDict | None = None) -> StockForm:
    """Return the form of a kit's words, or only of link and stock once it is proposed."""
    return (KitForm if kit.may_change else StockForm)(data, instance=kit)


def _try(request: MakerRequest, kit: Kit, act: Callable[[], None], said: str) -> HttpResponse:
    """Do one act and go back to the kit; a refusal is told on its page."""
    try:
        act()
    except PaletteError as error:
        return _show(request, own_kit_of(request, kit.pk), alert=str(error))
    messages.success(request, said)
    return _to(request, kit)


def _to(request: MakerRequest, kit: Kit) -> HttpResponse:
    return redirect("palettes:own_kit", request.maker.knit_along.slug, kit.pk)


def _show(
    request: MakerRequest,
    kit: Kit,
    *,
    form: StockForm | None = None,
    yarn_form: KitYarnForm | None = None,
    alert: str = "",
) -> HttpResponse:
    knit_along = request.maker.knit_along
    parts = read_kit(kit, knit_along, request.user)
    context = {
        **parts,
        "form": form or _words_form(kit),
        "yarn_form": yarn_form
        or KitYarnForm(user=request.user, instance=KitYarn(kit=kit, balls=1)),
        "has_room": len(parts["yarns"]) < knit_along.colour_count,
        "missing": kit_actions.what_is_missing(kit, parts["yarns"]),
        "alert": alert,
        **maker_frame(request),
    }
    refused = alert or (form and form.errors) or (yarn_form and yarn_form.errors)
    status = UNPROCESSABLE if refused else None
    return render(request, "palettes/own_kit.html", context, status=status)


def maker_frame(request: MakerRequest) -> dict[str, object]:
    knit_along = request.maker.knit_along
    return {
        "maker": request.maker,
        "knit_along": knit_along,
        "participant": membership_of(request, knit_along),
    }
