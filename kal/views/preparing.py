"""What a participant should bring, know and do before cast-on."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from kal.forms.preparing import PutUpForm
from kal.http import MemberRequest, member_required
from kal.needles import us_needle
from kal.views.bringing import PutUp, amounts_to_bring, reads_imperial
from kal.views.next_steps import PaletteState, clue_instants, next_step, palette_states
from kal.yarn_weights import YARN_WEIGHTS
from schedule.visibility import public_schedule


@member_required()
@require_safe
def prepare(request: MemberRequest) -> HttpResponse:
    now = timezone.now()
    knit_along, participant = request.knit_along, request.participant
    imperial = reads_imperial(request.user)
    form = PutUpForm(request.GET or None, imperial=imperial)
    put_up = PutUp(*form.grams_and_metres()) if form.is_valid() else None
    palette = palette_states([participant]).get(participant.pk, PaletteState())
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
        "section": "prepare",
    }
    return render(request, "kal/prepare.html", context, status=422 if form.errors else 200)
