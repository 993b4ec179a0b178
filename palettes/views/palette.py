"""The palette's own page, registering it, and what was registered before."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from kal.http import MemberRequest, frame, member_required
from palettes.actions import register_palette
from palettes.errors import PaletteError, PaletteIncomplete
from palettes.lettering import letters_of
from palettes.models import Palette, Registration
from palettes.views.answers import changed, show_palette
from palettes.workspace import audit_for


@member_required()
@require_GET
def palette_page(request: MemberRequest) -> HttpResponse:
    return show_palette(request)


@member_required()
@require_POST
def register(request: MemberRequest) -> HttpResponse:
    palette = Palette.objects.filter(participant=request.participant).first()
    try:
        if palette is None:
            raise PaletteIncomplete(_("Enter and choose your yarns first, then register."))
        registration, is_new = register_palette(palette, now=timezone.now())
    except PaletteError as error:
        return show_palette(request, alert=str(error))
    said = _("Your palette is registered, version {number}.").format(number=registration.number)
    if not is_new:
        said = _("Nothing has changed since version {number}, so it stands.").format(
            number=registration.number
        )
    return changed(request, said)


@member_required()
@require_GET
def history(request: MemberRequest) -> HttpResponse:
    registrations = Registration.objects.filter(
        palette__participant=request.participant
    ).prefetch_related("yarns")
    context = {"registrations": registrations, **frame(request, "palette")}
    return render(request, "palettes/history.html", context)


@member_required()
@require_GET
def registration_page(request: MemberRequest, number: int) -> HttpResponse:
    registration = get_object_or_404(
        Registration.objects.select_related("kit__maker__knit_along").prefetch_related("yarns"),
        palette__participant=request.participant,
        number=number,
    )
    chosen, lettering = registration.chosen, None
    if registration.is_current:
        lettering = letters_of(request.participant, chosen, now=timezone.now())
    audit = audit_for(
        chosen, registration.spares, request.knit_along, request.user, lettering=lettering
    )
    context = {"registration": registration, "audit": audit, **frame(request, "palette")}
    return render(request, "palettes/registration.html", context)
