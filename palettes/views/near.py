"""Palettes of the gallery that are close to mine, or to the one shown."""

from collections.abc import Sequence

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from kal.http import MemberRequest, frame, member_required
from palettes.models import Palette
from palettes.models.named_yarn import name_yarns
from palettes.models.yarn_facts import YarnFacts
from palettes.near import nearest_entries
from palettes.views.gallery import shown_entry


@member_required()
@require_GET
def near_mine(request: MemberRequest) -> HttpResponse:
    participant = request.participant
    yarns = own_yarns(Palette.objects.filter(participant=participant).first())
    is_whole = len(yarns) == request.knit_along.colour_count
    near = (
        nearest_entries(yarns, request.knit_along, but=participant.pk if participant else None)
        if is_whole
        else []
    )
    context = {"yarns": yarns, "is_whole": is_whole, "near": near, "whose": _("Your palette")}
    return render(request, "palettes/gallery_near.html", context | frame(request, "gallery"))


@member_required()
@require_GET
def near_palette(request: MemberRequest, pk: int) -> HttpResponse:
    entry = shown_entry(request, pk)
    yarns = entry.registration.chosen
    near = nearest_entries(yarns, request.knit_along, but=entry.participant_id)
    context = {
        "entry": entry,
        "yarns": yarns,
        "is_whole": True,
        "near": near,
        "whose": entry.owner_name,
    }
    return render(request, "palettes/gallery_near.html", context | frame(request, "gallery"))


def own_yarns(palette: Palette | None) -> Sequence[YarnFacts]:
    """Return the yarns registered, or those chosen so far."""
    if palette is None:
        return []
    if registration := palette.registration:
        return registration.chosen
    yarns = list(palette.yarns.chosen())
    name_yarns(yarns)
    return yarns
