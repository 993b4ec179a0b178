"""The registered palettes of everybody who agrees to show theirs."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from kal.http import MemberRequest, member_required
from palettes.forms import GalleryFilterForm
from palettes.gallery import BadCursor, read_page
from palettes.models import GalleryEntry
from palettes.workspace import audit_for

BAD_REQUEST = 400


@member_required()
@require_GET
def gallery(request: MemberRequest) -> HttpResponse:
    form = GalleryFilterForm(request.GET)
    wanted = form.cleaned_data if form.is_valid() else {"family": "", "run": ""}
    alert = "" if form.is_valid() else "There is no such choice; here is the whole gallery."
    cursor = request.GET.get("after", "") if form.is_valid() else ""
    try:
        page = read_page(request.knit_along, **wanted, cursor=cursor)
    except BadCursor as error:
        alert = str(error)
        page = read_page(request.knit_along, **wanted)
    context = {"page": page, "form": form, "wanted": wanted, "alert": alert, **_frame(request)}
    status = BAD_REQUEST if alert else None
    return render(request, "palettes/gallery.html", context, status=status)


@member_required()
@require_GET
def gallery_palette(request: MemberRequest, pk: int) -> HttpResponse:
    entry = get_object_or_404(
        GalleryEntry.objects.shown_in(request.knit_along)
        .under()
        .select_related("registration", "participant__user")
        .prefetch_related("registration__yarns"),
        registration__palette=pk,
    )
    registration = entry.registration
    audit = audit_for(registration.chosen, registration.spares, request.knit_along, request.user)
    context = {"entry": entry, "registration": registration, "audit": audit, **_frame(request)}
    return render(request, "palettes/gallery_palette.html", context)


def _frame(request: MemberRequest) -> dict[str, object]:
    return {
        "participant": request.participant,
        "knit_along": request.knit_along,
        "section": "gallery",
    }
