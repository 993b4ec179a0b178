"""The registered palettes of everybody who agrees to show theirs."""

from dataclasses import dataclass
from typing import Final

from django.http import HttpResponse, HttpResponseRedirect, QueryDict
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from kal.http import MemberRequest, frame, member_required
from palettes.gallery import COUNTED, BadCursor, read_page
from palettes.gallery_form import GalleryFilterForm
from palettes.models import GalleryEntry, Kit
from palettes.wanted import Chip
from palettes.workspace import audit_for

BAD_REQUEST: Final = 400


@dataclass(frozen=True, slots=True)
class ChipLink:
    """One thing asked for in words, and the address of the gallery without it."""

    words: str
    without: str


@member_required()
@require_GET
def gallery(request: MemberRequest) -> HttpResponse:
    asked = _without_empty(request.GET)
    if asked != request.GET:
        return HttpResponseRedirect(_address(request, asked))
    form = GalleryFilterForm(asked, kits=Kit.objects.shown_in(request.knit_along))
    wanted, alert = form.wanted, form.first_error
    try:
        page = read_page(request.knit_along, wanted, cursor="" if alert else asked.get("after", ""))
    except BadCursor as error:
        alert = str(error)
        page = read_page(request.knit_along, wanted)
    context = {
        "page": page,
        "form": form,
        "chips": [_link(request, asked, chip) for chip in wanted.chips(form.kits)],
        "found": min(page.found, COUNTED),
        "is_more": page.found > COUNTED,
        "alert": alert,
        **frame(request, "gallery"),
    }
    return render(request, "palettes/gallery.html", context, status=BAD_REQUEST if alert else None)


@member_required()
@require_GET
def gallery_palette(request: MemberRequest, pk: int) -> HttpResponse:
    entry = shown_entry(request, pk)
    registration = entry.registration
    audit = audit_for(registration.chosen, registration.spares, request.knit_along, request.user)
    context = {
        "entry": entry,
        "registration": registration,
        "audit": audit,
        **frame(request, "gallery"),
    }
    return render(request, "palettes/gallery_palette.html", context)


def shown_entry(request: MemberRequest, palette: int) -> GalleryEntry:
    """Return the entry of a palette that is shown, with all its yarns; else 404."""
    return get_object_or_404(
        GalleryEntry.objects.shown_in(request.knit_along)
        .select_related("registration__kit__maker__knit_along", "participant__user")
        .prefetch_related("registration__yarns"),
        registration__palette=palette,
    )


def _without_empty(asked: QueryDict) -> QueryDict:
    """Return the question without what was left empty, so that its address can be passed on."""
    kept = asked.copy()
    for name in asked:
        kept.setlist(name, [value for value in asked.getlist(name) if value])
        if not kept.getlist(name):
            del kept[name]
    return kept


def _link(request: MemberRequest, asked: QueryDict, chip: Chip) -> ChipLink:
    rest = asked.copy()
    rest.pop("after", None)
    rest.setlist(chip.field, [each for each in asked.getlist(chip.field) if each != chip.value])
    return ChipLink(chip.words, _address(request, rest))


def _address(request: MemberRequest, asked: QueryDict) -> str:
    return f"{request.path}?{asked.urlencode()}" if asked else request.path
