"""The palette card as a PDF to print: of the draft, or of a registration."""

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.timezone import localtime
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from kal.http import MemberRequest, member_required
from kal.paper.sheets import PAPERS, Paper
from palettes.card import BadCard, Card, card_pdf
from palettes.lettering import letters_of
from palettes.models import Registration, Yarn
from palettes.models.named_yarn import name_yarns
from palettes.print_card import print_card, registered_note
from palettes.views.answers import own_yarns, show_palette


@member_required()
@require_GET
def palette_card(request: MemberRequest) -> HttpResponse:
    paper = _paper(request)
    chosen = list(own_yarns(request).filter(place=Yarn.Place.CHOSEN))
    name_yarns(chosen)
    now = timezone.now()
    lettering = letters_of(request.participant, chosen, now=now)
    today = date_format(localtime(now), "j F Y")
    note = _("Not registered yet, as of %(day)s") % {"day": today}
    current = Registration.objects.filter(
        palette__participant=request.participant, is_current=True
    ).first()
    if current and [y.facts() for y in chosen] == [y.facts() for y in current.chosen]:
        note = registered_note(current)
    try:
        card = print_card(lettering.sort(chosen), request.knit_along, request.user, note=note)
    except BadCard:
        alert = _("Choose at least two yarns, then print their card.")
        return show_palette(request, alert=alert)
    return _answer(request, card, paper)


@member_required()
@require_GET
def registration_card(request: MemberRequest, number: int) -> HttpResponse:
    paper = _paper(request)
    registration = get_object_or_404(
        Registration.objects.prefetch_related("yarns"),
        palette__participant=request.participant,
        number=number,
    )
    chosen = registration.chosen
    if registration.is_current:
        chosen = letters_of(request.participant, chosen, now=timezone.now()).sort(chosen)
    card = print_card(
        chosen,
        request.knit_along,
        request.user,
        note=registered_note(registration),
    )
    return _answer(request, card, paper)


def _paper(request: MemberRequest) -> Paper:
    try:
        return PAPERS[request.GET.get("paper", "a4")]
    except KeyError:
        raise Http404 from None


def _answer(request: MemberRequest, card: Card, paper: Paper) -> HttpResponse:
    response = HttpResponse(card_pdf(card, paper), content_type="application/pdf")
    response["Content-Disposition"] = (
        f'inline; filename="palette-card-{request.knit_along.slug}-{paper.name.lower()}.pdf"'
    )
    response["Cache-Control"] = "private, no-cache"
    return response
