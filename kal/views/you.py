"""A person's own settings, and the demo's mail."""

from django.conf import settings as site_settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from kal.demo_mail import kept_mails
from kal.forms.accounts import SettingsForm
from kal.http import UserRequest, form_status, posted, sign_in_required
from kal.languages import is_spoken
from kal.models import User
from kal.views.sign_in import next_url

MAILS_SHOWN = 50


@sign_in_required
@require_http_methods(["GET", "HEAD", "POST"])
def settings(request: UserRequest) -> HttpResponse:
    # A row of its own: a form that does not validate must not change the name in the page's head.
    person = User.objects.get(pk=request.user.pk)
    form = SettingsForm(posted(request), instance=person)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, _("Your settings are saved."))
        return redirect(next_url(request, default="kal:home"))
    context = {
        "form": form,
        "next": next_url(request, default=""),
        "is_new": not request.user.name,
    }
    return render(request, "kal/settings.html", context, status=form_status(form))


@require_POST
def language(request: HttpRequest) -> HttpResponse:
    """Speak another language from now on: kept with the account, or in a cookie of a visitor."""
    code = request.POST.get("language", "")
    if not is_spoken(code):
        return HttpResponseBadRequest()
    response = redirect(page_before(request))
    if request.user.is_authenticated:
        User.objects.filter(pk=request.user.pk).update(language=code)
    else:
        response.set_cookie(
            site_settings.LANGUAGE_COOKIE_NAME,
            code,
            max_age=site_settings.LANGUAGE_COOKIE_AGE,
            secure=bool(site_settings.LANGUAGE_COOKIE_SECURE),
            httponly=True,
            samesite="Lax",
        )
    return response


def page_before(request: HttpRequest) -> str:
    """Return the page of this site that the form stood on, the first page if nobody knows."""
    page = request.headers.get("Referer", "")
    is_ours = url_has_allowed_host_and_scheme(
        page, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return page if is_ours else reverse("kal:home")


@never_cache
@require_safe
def demo_mail(request: HttpRequest) -> HttpResponse:
    if not site_settings.DEMO:
        raise Http404
    return render(request, "kal/demo_mail.html", {"mails": list(kept_mails(MAILS_SHOWN))})
