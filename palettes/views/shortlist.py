"""The shortlist of a participant's own yarns, and using one of its sets."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST
from django.views.decorators.vary import vary_on_headers

from kal.http import MemberRequest, frame, member_required, wants_fragment
from palettes.choosing import Choice, choose_set
from palettes.colour.shortlist import Aim
from palettes.errors import PaletteError
from palettes.lettering import letters_of
from palettes.models import Palette, Yarn
from palettes.models.named_yarn import name_yarns
from palettes.shortlist_form import ShortlistForm
from palettes.shortlists import find_sets
from palettes.views.answers import UNPROCESSABLE, own_yarns, sent_keys


@member_required()
@vary_on_headers("HX-Request")
@require_GET
def shortlist_page(request: MemberRequest) -> HttpResponse:
    return _show(request)


@member_required()
@require_POST
def use_set(request: MemberRequest) -> HttpResponse:
    palette = get_object_or_404(Palette, participant=request.participant)
    wanted = sent_keys(request.POST, "yarn")
    try:
        before = choose_set(
            palette, wanted, spares=sent_keys(request.POST, "spare"), now=timezone.now()
        )
    except PaletteError as error:
        return _show(request, alert=str(error))
    _tell(request, before, wanted)
    query = request.GET.urlencode()
    address = reverse("palettes:shortlist", args=[request.knit_along.slug])
    return redirect(f"{address}?{query}" if query else address)


def _tell(request: MemberRequest, before: Choice, wanted: tuple[int, ...]) -> None:
    """Say what is chosen and what is not any more, and remember how to put it back."""
    if before.chosen == wanted:
        messages.info(request, _("This set is chosen already; nothing has changed."))
        return
    names = {yarn.pk: yarn.name for yarn in own_yarns(request)}
    said = _("Chosen now: %(yarns)s.") % {"yarns": "; ".join(names[key] for key in wanted)}
    if aside := [names[key] for key in before.chosen if key not in wanted]:
        said += " " + _("Set aside, and kept: %(yarns)s.") % {"yarns": "; ".join(aside)}
    messages.success(request, said)
    request.session[_memory(request)] = {
        "now": list(wanted),
        "chosen": list(before.chosen),
        "spares": [key for key in before.spares if key in wanted],
    }


def _memory(request: MemberRequest) -> str:
    return f"choice-before-{request.participant.pk}"


def _show(request: MemberRequest, *, alert: str = "") -> HttpResponse:
    yarns = Yarn.in_order(own_yarns(request))
    name_yarns(yarns)
    form = ShortlistForm(_asked(request), yarns=yarns)
    context = {
        **frame(request, "palette"),
        "form": form,
        "yarns": yarns,
        "sets": [],
        "alert": alert,
        "query": request.GET.urlencode(),
        "is_open": request.knit_along.are_palettes_open(timezone.now()),
        "before": _before(request, yarns),
        "colour_count": request.knit_along.colour_count,
    }
    if form.is_valid():
        asked = form.cleaned_data
        chosen = [yarn for yarn in yarns if yarn.is_chosen]
        lettering = letters_of(request.participant, chosen, now=timezone.now())
        context["sets"] = find_sets(
            yarns,
            request.knit_along,
            choose=asked["choose"],
            aim=Aim(asked["aim"]),
            locked=asked["lock"],
            imperial=request.user.reads_imperial,
            are_lettered=not lettering.is_planned,
        )
        context["choose"] = asked["choose"]
    template = "palettes/shortlist.html"
    if wants_fragment(request):
        template += "#sets"
    refused = bool(alert or form.errors)
    return render(request, template, context, status=UNPROCESSABLE if refused else None)


def _asked(request: MemberRequest) -> QueryDict:
    """Return the question, with what the knit-along asks for where none was put."""
    asked = request.GET.copy()
    asked.setdefault("choose", str(request.knit_along.colour_count))
    asked.setdefault("aim", Aim.CONTRAST.value)
    return asked


def _before(request: MemberRequest, yarns: list[Yarn]) -> dict[str, Any] | None:
    """Return what was chosen before the last set was used; None once anything else has changed."""
    memory = request.session.get(_memory(request))
    if not memory or [yarn.pk for yarn in yarns if yarn.is_chosen] != memory["now"]:
        return None
    by_key = {yarn.pk: yarn for yarn in yarns}
    if not by_key.keys() >= {*memory["chosen"], *memory["spares"]}:
        return None
    return {
        "yarns": [by_key[key] for key in memory["chosen"]],
        "spares": memory["spares"],
    }
