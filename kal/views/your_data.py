"""What is kept about a person: what they agreed to, a copy for them, and erasing all of it."""

from datetime import datetime
from typing import Any

from allauth.core.ratelimit import consume
from django import forms
from django.contrib import messages
from django.contrib.auth import logout
from django.http import FileResponse, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from kal.errors import LastOrganiser
from kal.http import UserRequest, sign_in_required
from kal.models import Consent, Participant, User
from kal.models.consent import wishes_of
from kal.records.belongings import belongings
from kal.records.own_export import export_of
from kal.views.kept_words import KEPT
from schedule.erasing import days_kept, erase_person


class EraseForm(forms.Form):
    """The person's own mail address, typed: nobody does that by a slip."""

    email = forms.EmailField(
        label=gettext_lazy("Your mail address, to show that you mean it"),
        max_length=254,
        error_messages={
            "required": gettext_lazy("Type your mail address, as it stands above."),
            "invalid": gettext_lazy("That is not your mail address, as it stands above."),
        },
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.user = user

    def clean_email(self) -> str:
        email = str(self.cleaned_data["email"])
        if email.casefold() != self.user.email.casefold():
            raise forms.ValidationError(_("That is not your mail address, as it stands above."))
        return email


@sign_in_required
@never_cache
@require_safe
def your_data(request: UserRequest) -> HttpResponse:
    return data_page(request, EraseForm(user=request.user))


@sign_in_required
@never_cache
@require_POST
def export(request: UserRequest) -> HttpResponseBase:
    """Hand out the person's copy; it is never stored under a name."""
    if not consume(request, action="export_mine"):
        problem = _("You have taken several copies within the hour; try again later.")
        return data_page(request, EraseForm(user=request.user), problem=problem, status=429)
    now = timezone.now()
    name = f"knit-along-{now:%Y-%m-%d}.zip"
    return FileResponse(export_of(request.user, now=now), as_attachment=True, filename=name)


@sign_in_required
@never_cache
@require_POST
def erase(request: UserRequest) -> HttpResponse:
    form = EraseForm(request.POST, user=request.user)
    if not form.is_valid():
        return data_page(request, form, status=422)
    try:
        erase_person(User.objects.get(pk=request.user.pk), now=timezone.now())
    except LastOrganiser as refusal:
        return data_page(request, form, problem=str(refusal), status=422)
    logout(request)
    messages.success(request, _("You are erased. Thank you for having knitted along."))
    return redirect("kal:home")


def data_page(
    request: UserRequest, form: EraseForm, *, problem: str = "", status: int = 200
) -> HttpResponse:
    memberships = list(request.user.memberships.select_related("knit_along"))
    context = {
        "kept": kept_words(request.user),
        "memberships": [
            (one, consent_lines(one), days_kept(one.knit_along)) for one in memberships
        ],
        "form": form,
        "problem": problem,
    }
    return render(request, "kal/your_data.html", context, status=status)


def kept_words(user: User) -> list[tuple[str, int]]:
    """Return each kind of row that belongs to the person, in words, and how many there are."""
    counted = [(label, rows.count()) for label, rows in belongings(user)]
    return [(str(KEPT[label]), count) for label, count in counted if count]


def consent_lines(participant: Participant) -> list[tuple[str, bool, datetime | None]]:
    """Return each purpose in words, whether the person agrees, and since when."""
    standing = Consent.objects.standing(participant)
    return [
        (
            str(Consent.Purpose(purpose).label),
            is_given,
            standing[purpose].at if purpose in standing else None,
        )
        for purpose, is_given in wishes_of(participant).items()
    ]
