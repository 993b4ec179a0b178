"""What a participant should bring, know and do before cast-on."""

from django.conf import settings
from django.db.models import prefetch_related_objects
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from kal.forms.preparing import PutUpForm
from kal.http import MemberRequest, form_status, member_required
from kal.needles import us_needle
from kal.paper.pack import Pack, pack_pdf
from kal.paper.sheets import PAPERS
from kal.views.bringing import PutUp, amounts_to_bring, reads_imperial
from kal.views.next_steps import PaletteState, clue_instants, next_step, palette_states
from kal.views.pack_words import balls_in_words, bringing, cautions, choosing, dates, own_words
from kal.yarn_weights import YARN_WEIGHTS
from schedule.visibility import public_schedule


@member_required()
@require_safe
def prepare(request: MemberRequest) -> HttpResponse:
    now = timezone.now()
    knit_along, participant = request.knit_along, request.participant
    imperial = reads_imperial(request.user)
    prefetch_related_objects([knit_along], "needs")
    form = PutUpForm(request.GET or None, imperial=imperial)
    put_up = PutUp(*form.grams_and_metres()) if form.is_valid() else None
    palette = palette_states([participant], now).get(participant.pk, PaletteState())
    clues = clue_instants([knit_along.pk]).get(knit_along.pk, [])
    context = {
        "knit_along": knit_along,
        "participant": participant,
        "amounts": amounts_to_bring(knit_along, imperial=imperial, put_up=put_up),
        "put_up": put_up,
        "form": form,
        "clues": public_schedule(knit_along, now),
        "palette": palette,
        "is_casting_on": any(clue.is_out(now) for clue in clues),
        "step": next_step(participant, clues, palette, now),
        "yarn_weight": YARN_WEIGHTS[knit_along.yarn_weight],
        "us_needle": us_needle(knit_along.needle_mm),
        "choosing": choosing(knit_along),
        "balls_in_words": balls_in_words(knit_along, imperial=imperial),
        "cautions": cautions(),
        "section": "prepare",
    }
    return render(request, "kal/prepare.html", context, status=form_status(form))


@member_required()
@require_safe
def pack(request: MemberRequest) -> HttpResponse:
    """Return all of it on paper, for whoever shops for yarn without a screen."""
    name = request.GET.get("paper", "a4")
    if name not in PAPERS:
        raise Http404
    knit_along = request.knit_along
    imperial = reads_imperial(request.user)
    prefetch_related_objects([knit_along], "needs")
    sections = [
        bringing(knit_along, amounts_to_bring(knit_along, imperial=imperial), imperial=imperial),
        *own_words(knit_along),
        *choosing(knit_along),
        dates(knit_along, public_schedule(knit_along, timezone.now()), request.user.zone),
        cautions(),
    ]
    address = settings.BASE_URL + reverse("kal:prepare", args=[knit_along.slug])
    printed = Pack(knit_along.title, _("Preparation pack"), sections, address)
    answer = HttpResponse(pack_pdf(printed, PAPERS[name]), content_type="application/pdf")
    file_name = f"preparation-{knit_along.slug}-{name}.pdf"
    answer["Content-Disposition"] = f'inline; filename="{file_name}"'
    answer["Cache-Control"] = "private, no-cache"
    return answer
