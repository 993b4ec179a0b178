"""Entering, changing, choosing, ordering and removing the yarns of one's own palette."""

from typing import cast

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext, gettext_noop
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from kal.http import MemberRequest, frame, member_required, wants_fragment
from palettes import actions
from palettes.errors import PaletteError
from palettes.forms import NewYarnForm, YarnForm
from palettes.models import Yarn
from palettes.views.answers import UNPROCESSABLE, changed, own_yarns, show_palette
from palettes.workspace import read_workspace


@member_required()
@require_POST
def add_yarn(request: MemberRequest) -> HttpResponse:
    form = NewYarnForm(request.POST, user=request.user)
    if not form.is_valid():
        return show_palette(request, new_form=form, is_new_form_shown=True)
    try:
        yarn = actions.add_yarn(form.instance, request.participant, now=timezone.now())
    except PaletteError as error:
        return show_palette(request, alert=str(error), new_form=form, is_new_form_shown=True)
    said = _("{name} is chosen.") if yarn.is_chosen else _("{name} is a candidate.")
    return changed(request, said.format(name=yarn.name), is_new_form_shown=True)


@member_required()
@require_http_methods(["GET", "HEAD", "POST"])
def yarn_page(request: MemberRequest, pk: int) -> HttpResponse:
    yarn = get_object_or_404(own_yarns(request), pk=pk)
    if request.method != "POST":
        return _show_yarn(request, yarn, YarnForm(instance=yarn, user=request.user))
    form = YarnForm(request.POST, instance=yarn, user=request.user)
    is_valid = form.is_valid()
    try:
        # What is accepted is kept even when another value of the form is refused.
        actions.change_yarn(yarn, form.accepted_fields, now=timezone.now())
    except PaletteError as error:
        form.add_error(None, str(error))
        is_valid = False
    if wants_fragment(request):
        return _yarn_saved(request, yarn, form)
    if not is_valid:
        return _show_yarn(request, yarn, form)
    return changed(request, _("{name} is saved.").format(name=yarn.name))


@member_required()
@require_POST
def place_yarn(request: MemberRequest, pk: int) -> HttpResponse:
    yarn = get_object_or_404(own_yarns(request), pk=pk)
    place = request.POST.get("place", "")
    if place not in Yarn.Place:
        return show_palette(request, alert=_("Choose a place: chosen, spare or candidate."))
    try:
        actions.place_yarn(yarn, place, now=timezone.now())
    except PaletteError as error:
        return show_palette(request, alert=str(error))
    return changed(request, gettext(NOW_IN[place]).format(name=yarn.name))


NOW_IN = {
    "chosen": gettext_noop("{name} is now chosen."),
    "spare": gettext_noop("{name} is now a spare."),
    "candidate": gettext_noop("{name} is now a candidate."),
}


@member_required()
@require_POST
def move_yarn(request: MemberRequest, pk: int) -> HttpResponse:
    yarn = get_object_or_404(own_yarns(request), pk=pk)
    direction = request.POST.get("direction", "")
    if direction not in ("up", "down"):
        return show_palette(request, alert=_("Move a yarn up or down."))
    try:
        actions.move_yarn(yarn, cast(actions.Direction, direction), now=timezone.now())
    except PaletteError as error:
        return show_palette(request, alert=str(error))
    return changed(request)


@member_required()
@require_POST
def remove_yarn(request: MemberRequest, pk: int) -> HttpResponse:
    yarn = get_object_or_404(own_yarns(request), pk=pk)
    try:
        actions.remove_yarn(yarn, now=timezone.now())
    except PaletteError as error:
        return show_palette(request, alert=str(error))
    return changed(request, _("{name} is removed.").format(name=yarn.name))


def _show_yarn(request: MemberRequest, yarn: Yarn, form: YarnForm) -> HttpResponse:
    context = {
        **frame(request, "palette"),
        "yarn": yarn,
        "form": form,
        "is_open": request.knit_along.are_palettes_open(timezone.now()),
    }
    template = "palettes/yarn.html"
    if wants_fragment(request):
        template += "#editor"
    return render(request, template, context, status=UNPROCESSABLE if form.errors else None)


def _yarn_saved(request: MemberRequest, yarn: Yarn, form: YarnForm) -> HttpResponse:
    """Answer a save with the sentences beside each value, and what else it changed on the page.

    The boxes themselves are not sent again: the person may be typing in the next one already.
    """
    context = {
        "participant": request.participant,
        "knit_along": request.knit_along,
        "yarn": yarn,
        "form": form,
        "workspace": read_workspace(request.participant, now=timezone.now()),
        "is_part": True,
    }
    status = UNPROCESSABLE if form.errors else None
    return render(request, "palettes/yarn.html#saved", context, status=status)
