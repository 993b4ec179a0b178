"""A participant's yarn: weigh in, see what will be left, what is needed, and how long it takes."""

from datetime import datetime
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from kal.http import MemberRequest, form_status, member_required, posted
from palettes.translator import READERS_LANGUAGE
from schedule.actions import delete_weigh_in, keep_own_knitting, keep_weigh_in
from schedule.errors import WeighInRefused
from schedule.models import WeighIn
from schedule.needed import needed_page
from schedule.own_pace import hours_by_clue, pace_of
from schedule.pattern.pace import WORDS as PACE_WORDS
from schedule.pattern.pace import HandsNote
from schedule.pattern.put_ups import PutUp, mix_put_ups
from schedule.views.reading import never_kept
from schedule.yarn_forms import (
    MixForm,
    OwnKnittingForm,
    PaceForm,
    WeighInForm,
    own_knitting_of,
)
from schedule.yarn_pages import SPARK_HEIGHT, SPARK_WIDTH, YarnPage, yarn_page


@require_http_methods(["GET", "HEAD", "POST"])
@never_kept
@member_required()
def yarn(request: MemberRequest) -> HttpResponseBase:
    """Show each letter's forecast below the form for a weigh-in; a POST keeps one."""
    now = timezone.now()
    page = yarn_page(request.participant, now)
    form = _form(request, page, posted(request), _first_guess(request, page))
    if form.is_bound and form.is_valid():
        own = own_knitting_of(request.participant)
        new = WeighIn(participant=request.participant, division=own.division)
        if _kept(request, form, new, now):
            messages.success(request, _("Noted: %(letter)s.") % {"letter": new.letter})
            return redirect(_letter_address(request, new.letter))
    context = {
        "page": page,
        "form": form,
        "spark_width": SPARK_WIDTH,
        "spark_height": SPARK_HEIGHT,
    }
    return _page(request, "schedule/yarn.html", context, form)


@require_http_methods(["GET", "HEAD", "POST"])
@never_kept
@member_required()
def weigh_in(request: MemberRequest, pk: int) -> HttpResponseBase:
    """Correct one of the reader's own weigh-ins."""
    now = timezone.now()
    mine = get_object_or_404(request.participant.weigh_ins.select_related("clue"), pk=pk)
    page = yarn_page(request.participant, now)
    form = _form(request, page, posted(request), WeighInForm.initial_of(mine))
    if form.is_bound and form.is_valid() and _kept(request, form, mine, now):
        messages.success(request, _("Corrected."))
        return redirect(_letter_address(request, mine.letter))
    return _page(request, "schedule/weigh_in.html", {"weigh_in": mine, "form": form}, form)


@require_POST
@never_kept
@member_required()
def remove_weigh_in(request: MemberRequest, pk: int) -> HttpResponseBase:
    delete_weigh_in(get_object_or_404(request.participant.weigh_ins, pk=pk))
    messages.success(request, _("The weigh-in is gone."))
    return redirect("schedule:yarn", request.knit_along.slug)


@require_http_methods(["GET", "HEAD", "POST"])
@never_kept
@member_required()
def needed(request: MemberRequest) -> HttpResponseBase:
    """Show what each letter takes and how many balls that is; a POST keeps needle and gauge."""
    participant, imperial = request.participant, request.user.reads_imperial
    form = OwnKnittingForm(posted(request), participant=participant, imperial=imperial)
    if form.is_bound and form.is_valid():
        keep_own_knitting(participant, form.cleaned_data)
        messages.success(request, _("Noted how you knit."))
        return redirect("schedule:yarn_needed", request.knit_along.slug)
    mix = MixForm(request.GET if "need" in request.GET else None, imperial=imperial)
    context = {
        "page": needed_page(participant, timezone.now()),
        "form": form,
        "mix": mix,
        "mixed": _mixed(mix),
        "imperial": imperial,
    }
    return _page(request, "schedule/yarn_needed.html", context, form, mix)


@require_http_methods(["GET", "HEAD", "POST"])
@never_kept
@member_required()
def pace(request: MemberRequest) -> HttpResponseBase:
    """Show the hours of each clue that may be read; a POST keeps one's own pace or forgets it."""
    participant = request.participant
    if request.method == "POST" and "forget" in request.POST:
        keep_own_knitting(participant, {"per_minute": None})
        return redirect("schedule:pace", request.knit_along.slug)
    form = PaceForm(posted(request))
    if form.is_bound and form.is_valid():
        keep_own_knitting(participant, {"per_minute": form.cleaned_data["per_minute"]})
        messages.success(request, _("Noted your pace."))
        return redirect("schedule:pace", request.knit_along.slug)
    own = pace_of(own_knitting_of(participant))
    context = {
        "form": form,
        "pace": own,
        "clues": hours_by_clue(participant, own, timezone.now()),
        "hands": READERS_LANGUAGE.gettext(PACE_WORDS[HandsNote.REST]),
    }
    return _page(request, "schedule/pace.html", context, form)


def _form(
    request: MemberRequest, page: YarnPage, data: Any, initial: dict[str, Any]
) -> WeighInForm:
    return WeighInForm(
        data,
        initial=initial,
        letters="".join(page.plan.totals),
        clues=[clue.counted.clue for clue in page.plan.clues],
        bought=page.bought,
        imperial=request.user.reads_imperial,
    )


def _first_guess(request: MemberRequest, page: YarnPage) -> dict[str, Any]:
    """Preselect the latest clue, finished, and of its letters the one weighed longest ago."""
    clues = page.plan.clues
    letters = list(clues[-1].grams if clues else page.plan.totals) or list(page.plan.totals)
    last = {each.letter: place for place, each in enumerate(page.weigh_ins, start=1)}
    asked = request.GET.get("letter", "")
    longest_ago = min(letters, key=lambda letter: last.get(letter, 0), default="")
    return {
        "letter": asked if asked in page.plan.totals else longest_ago,
        "clue": str(clues[-1].counted.clue.pk) if clues else "before",
        "share": "1",
    }


def _kept(request: MemberRequest, form: WeighInForm, row: WeighIn, now: datetime) -> bool:
    try:
        keep_weigh_in(form.fill(row), imperial=request.user.reads_imperial, now=now)
    except WeighInRefused as refused:
        form.add_error(refused.field, str(refused))
        return False
    return True


def _mixed(form: MixForm) -> tuple[int, ...]:
    if not (form.is_bound and form.is_valid()):
        return ()
    # Only lengths are mixed, so what a ball weighs does not matter.
    put_ups = [PutUp(Decimal(1), form.metres(name)) for name in ("first", "second")]
    return mix_put_ups(form.metres("need"), put_ups)


def _letter_address(request: MemberRequest, letter: str) -> str:
    return f"{reverse('schedule:yarn', args=[request.knit_along.slug])}#letter-{letter}"


def _page(
    request: MemberRequest, template: str, context: dict[str, object], *forms: Any
) -> HttpResponse:
    common = {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "yarn",
    }
    status = form_status(*forms)
    return render(request, template, common | context, status=status)
