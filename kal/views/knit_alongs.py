"""A knit-along's public page, and creating and changing one."""

from django.contrib import messages
from django.db import transaction
from django.db.models import prefetch_related_objects
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from kal.actions.knit_alongs import change_knit_along, create_knit_along
from kal.forms.knit_along import KnitAlongForm
from kal.http import (
    MemberRequest,
    UserRequest,
    find_knit_along,
    form_status,
    organiser_required,
    posted,
    sign_in_required,
)
from kal.models import KnitAlong
from kal.needles import us_needle
from kal.views.bringing import amounts_to_bring, reads_imperial
from kal.views.hosts import hosts_in_words
from kal.views.next_steps import next_steps
from kal.yarn_weights import YARN_WEIGHTS
from palettes.models import Registration
from schedule.actions import propose_clues
from schedule.listing import coming
from schedule.visibility import public_schedule


@require_safe
def public_page(request: HttpRequest, slug: str) -> HttpResponse:
    knit_along, participant = find_knit_along(request, slug)
    prefetch_related_objects([knit_along], "needs")
    now = timezone.now()
    is_over = now >= knit_along.sign_up_closes_at
    context = {
        "knit_along": knit_along,
        "participant": participant,
        "clues": public_schedule(knit_along, now),
        "coming": coming(participant, now) if participant else None,
        "step": next_steps([participant], now)[participant.pk] if participant else None,
        "amounts": amounts_to_bring(knit_along, imperial=reads_imperial(request.user)),
        "other_amounts": other_amounts(request, knit_along),
        "yarn_weight": YARN_WEIGHTS[knit_along.yarn_weight],
        "us_needle": us_needle(knit_along.needle_mm),
        "is_sign_up_open": knit_along.is_sign_up_open(now),
        "is_sign_up_over": is_over,
        "hosts": hosts_in_words(knit_along) if is_over and not participant else "",
    }
    return render(request, "kal/knitalong.html", context)


def other_amounts(request: HttpRequest, knit_along: KnitAlong) -> list[object]:
    """Return the amounts in the other units as well for somebody whose units are not known."""
    if request.user.is_authenticated:
        return []
    return [*amounts_to_bring(knit_along, imperial=True)]


@sign_in_required
@require_http_methods(["GET", "HEAD", "POST"])
def new(request: UserRequest) -> HttpResponse:
    if not request.user.may_host:
        raise Http404
    now = timezone.now()
    form = KnitAlongForm(posted(request), now=now, initial={"zone": request.user.zone})
    if request.method == "POST" and form.is_valid():
        with transaction.atomic():
            create_knit_along(form.instance, form.needs(), by=request.user, now=now)
            propose_clues(form.instance)
        tell_more(request, form)
        return redirect("schedule:desk_clues", form.instance.slug)
    return form_page(request, form)


@organiser_required
@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: MemberRequest) -> HttpResponse:
    now = timezone.now()
    # A row of its own: a form that does not validate must not change the page around it.
    knit_along = KnitAlong.objects.get(pk=request.knit_along.pk)
    registered = Registration.objects.filter(knit_along=knit_along, is_current=True)
    form = KnitAlongForm(
        posted(request), instance=knit_along, now=now, has_palettes=registered.exists()
    )
    if request.method == "POST" and form.is_valid():
        change_knit_along(knit_along, form.needs(), form.changed_data, by=request.user, now=now)
        messages.success(request, _("The knit-along is saved."))
        tell_more(request, form)
        return redirect("kal:desk", knit_along.slug)
    return form_page(request, form, request)


def tell_more(request: HttpRequest, form: KnitAlongForm) -> None:
    for sentence in form.reckoned():
        messages.info(request, sentence)
    for warning in form.warnings():
        messages.warning(request, warning)


def form_page(
    request: HttpRequest, form: KnitAlongForm, member: MemberRequest | None = None
) -> HttpResponse:
    context = {
        "form": form,
        "knit_along": member and member.knit_along,
        "participant": member and member.participant,
        "yarn_weights": YARN_WEIGHTS,
        "section": "desk",
        "desk_section": "edit",
    }
    template = "kal/edit.html" if member else "kal/new.html"
    return render(request, template, context, status=form_status(form))
