"""A person's own settings, and the demo's mail."""

from django.conf import settings as site_settings
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from kal.demo_mail import kept_mails
from kal.forms.accounts import SettingsForm
from kal.http import UserRequest, posted
from kal.models import User
from kal.views.sign_in import next_url

MAILS_SHOWN = 50


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def settings(request: UserRequest) -> HttpResponse:
    # A row of its own: a form that does not validate must not change the name in the page's head.
    person = User.objects.get(pk=request.user.pk)
    form = SettingsForm(posted(request), instance=person)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "Your settings are saved.")
        return redirect(next_url(request, default="kal:home"))
    context = {
        "form": form,
        "next": next_url(request, default=""),
        "is_new": not request.user.name,
    }
    return render(request, "kal/settings.html", context, status=422 if form.errors else 200)


@never_cache
@require_safe
def demo_mail(request: HttpRequest) -> HttpResponse:
    if not site_settings.DEMO:
        raise Http404
    return render(request, "kal/demo_mail.html", {"mails": list(kept_mails(MAILS_SHOWN))})
