"""Joining a knit-along: one page, whichever its rule."""

from allauth.core.ratelimit import consume
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from kal.actions.joining import check_may_join, was_given_a_place
from kal.actions.joining import join as join_knit_along
from kal.errors import JoinRefused
from kal.forms.joining import JoinForm
from kal.http import UserRequest, membership_of, sign_in_required
from kal.models import KnitAlong, Participant
from kal.models.joining import tidy_code
from kal.views.hosts import hosts_in_words
from kal.views.sign_in import TOO_MANY, with_next


@sign_in_required
@require_http_methods(["GET", "HEAD", "POST"])
def join(request: UserRequest, slug: str) -> HttpResponse:
    knit_along = get_object_or_404(KnitAlong, slug=slug)
    if membership_of(request, knit_along):
        return redirect("kal:prepare", slug)
    code = request.GET.get("code", "")
    if not (knit_along.is_public or is_invited(request, knit_along, code)):
        raise Http404
    if not request.user.name:
        return redirect(with_next(reverse("kal:settings"), request, headed=request.get_full_path()))
    if request.method != "POST":
        form = JoinForm(initial={"code": code}, asks_code=asks_code(request, knit_along))
        return join_page(request, knit_along, form)
    return try_to_join(request, knit_along)


def is_invited(request: UserRequest, knit_along: KnitAlong, code: str) -> bool:
    """Return whether a page that visitors cannot see was opened with a code, or from the list.

    A code that is no longer good still opens the page, so that it can say so.
    """
    if was_given_a_place(knit_along, request.user):
        return True
    typed = tidy_code(request.POST.get("code", "") or code)
    if knit_along.join_rule == KnitAlong.JoinRule.CODE:
        return knit_along.join_codes.filter(code=typed).exists()
    listed = knit_along.join_list.filter(email=request.user.email)
    return knit_along.join_rule == KnitAlong.JoinRule.LIST and listed.exists()


def asks_code(request: UserRequest, knit_along: KnitAlong) -> bool:
    by_code = knit_along.join_rule == KnitAlong.JoinRule.CODE
    return by_code and not was_given_a_place(knit_along, request.user)


def try_to_join(request: UserRequest, knit_along: KnitAlong) -> HttpResponse:
    form = JoinForm(request.POST, asks_code=asks_code(request, knit_along))
    if not form.is_valid():
        return join_page(request, knit_along, form, status=422)
    if not consume(request, action="join_code"):
        form.add_error(None, TOO_MANY)
        return join_page(request, knit_along, form, status=429)
    try:
        join_knit_along(knit_along, request.user, now=timezone.now(), **form.cleaned_data)
    except JoinRefused as refusal:
        form.add_error("code" if "code" in form.fields else None, str(refusal))
        return join_page(request, knit_along, form, status=422)
    messages.success(request, _("You take part in {knit_along}.").format(knit_along=knit_along))
    return redirect("kal:prepare", knit_along.slug)


def join_page(
    request: UserRequest, knit_along: KnitAlong, form: JoinForm, *, status: int = 200
) -> HttpResponse:
    refusal = "" if form.errors else why_not(request, knit_along)
    context = {
        "knit_along": knit_along,
        "form": form,
        "why_not": refusal,
        "hosts": hosts_in_words(knit_along) if refusal else "",
    }
    return render(request, "kal/join.html", context, status=status)


def why_not(request: UserRequest, knit_along: KnitAlong) -> str:
    """Return why nobody, or not this person, may join now; '' when they may try."""
    earlier = Participant.objects.filter(user=request.user, knit_along=knit_along).first()
    try:
        has_place = was_given_a_place(knit_along, request.user)
        check_may_join(knit_along, earlier, now=timezone.now(), has_place=has_place)
    except JoinRefused as refusal:
        return str(refusal)
    return ""
