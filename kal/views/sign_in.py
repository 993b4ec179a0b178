"""Signing in: an address, then the code that was mailed to it. New people come in the same way."""

import logging
from smtplib import SMTPException

from allauth.core.ratelimit import consume
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render, resolve_url
from django.urls import reverse
from django.utils.functional import Promise
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from kal.accounts import SignIn
from kal.forms.accounts import AddressForm, CodeForm

logger = logging.getLogger(__name__)

TOO_MANY = _("Too many tries in a short time; wait a few minutes, then try again.")
NOT_SENT = _("The mail could not be sent just now; try again in a minute.")
NO_LONGER_GOOD = _("That code has expired or was used already; ask for a new one here.")
TOO_OFTEN_WRONG = _("That was one wrong code too many, so it no longer counts; ask for a new one.")


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def request_code(request: HttpRequest) -> HttpResponse:
    if request.user.is_authenticated:
        return redirect(next_url(request))
    if request.method != "POST":
        return address_page(request, AddressForm())
    form = AddressForm(request.POST)
    if not form.is_valid():
        return address_page(request, form, status=422)
    email = form.cleaned_data["email"]
    if not consume(request, action="request_login_code", key=email):
        return address_page(request, refused(form, TOO_MANY), status=429)
    try:
        SignIn.begin(request, email)
    except (OSError, SMTPException):
        logger.exception("A sign-in code could not be mailed.")
        return address_page(request, refused(form, NOT_SENT), status=503)
    return redirect(with_next(reverse("account_confirm_login_code"), request))


@never_cache
@sensitive_post_parameters("code")
@require_http_methods(["GET", "HEAD", "POST"])
def confirm_code(request: HttpRequest) -> HttpResponse:
    if request.user.is_authenticated:
        return redirect(next_url(request))
    pending = SignIn.pending(request)
    if pending is None or not pending.is_valid():
        return start_again(request, pending, NO_LONGER_GOOD)
    if request.method != "POST":
        return code_page(request, CodeForm(expected=pending.code), pending)
    form = CodeForm(request.POST, expected=pending.code)
    if not consume(request, action="confirm_login_code"):
        return code_page(request, refused(form, TOO_MANY), pending, status=429)
    if form.is_valid():
        return welcome(request, pending.finish(next_url(request)))
    if form.has_error("code", "wrong") and not pending.record_invalid_attempt():
        return start_again(request, pending, TOO_OFTEN_WRONG)
    return code_page(request, form, pending, status=422)


def welcome(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """Return the way onward; somebody without a name yet is asked for it first."""
    if request.user.is_authenticated and not request.user.name:
        return redirect(with_next(reverse("kal:settings"), request))
    return response


def start_again(request: HttpRequest, pending: SignIn | None, why: str | Promise) -> HttpResponse:
    """Offer a new code for the same address, and say why the old one is no good."""
    if request.method != "POST":
        messages.error(request, str(why))
        return redirect(with_next(reverse("account_login"), request))
    form = AddressForm(initial={"email": pending.email if pending else ""})
    return address_page(request, form, why=why, status=422)


def refused[F: AddressForm | CodeForm](form: F, why: str | Promise) -> F:
    form.full_clean()
    form.add_error(None, str(why))
    return form


def address_page(
    request: HttpRequest, form: AddressForm, *, why: str | Promise = "", status: int = 200
) -> HttpResponse:
    context = {"form": form, "next": next_url(request, default=""), "why": why}
    return render(request, "account/login.html", context, status=status)


def code_page(
    request: HttpRequest, form: CodeForm, pending: SignIn, *, status: int = 200
) -> HttpResponse:
    context = {
        "form": form,
        "email": pending.email,
        "next": next_url(request, default=""),
        "minutes": pending.timeout // 60,
    }
    return render(request, "account/confirm_login_code.html", context, status=status)


def next_url(request: HttpRequest, *, default: str = "kal:home") -> str:
    """Return where the person was headed, if that is a page of this site, else `default`."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    is_ours = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if is_ours else resolve_url(default) if default else ""


def with_next(url: str, request: HttpRequest, *, headed: str = "") -> str:
    """Return `url` carrying along where the person was headed, or `headed` if given."""
    headed = headed or next_url(request, default="")
    if not headed:
        return url
    query = QueryDict(mutable=True)
    query["next"] = headed
    return f"{url}?{query.urlencode(safe='/')}"
