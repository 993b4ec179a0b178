"""How a changed or refused palette is answered: whole pages without script, parts with it."""

from typing import Any

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone

from kal.http import MemberRequest, frame, wants_fragment
from palettes.forms import NewYarnForm
from palettes.models import Yarn
from palettes.workspace import read_workspace

UNPROCESSABLE = 422
YEAR = 365 * 24 * 60 * 60
# No key is longer; int() itself refuses to read thousands of digits.
MOST_DIGITS = 18


def show_palette(
    request: MemberRequest, *, alert: str = "", new_form: NewYarnForm | None = None, **more: Any
) -> HttpResponse:
    """Return the palette as it is: its page, or for htmx the parts that may have changed.

    With an alert or a refused form the status is 422.
    """
    refused = bool(alert or (new_form and new_form.errors))
    context = {
        **frame(request, "palette"),
        "workspace": read_workspace(request.participant, now=timezone.now()),
        "alert": alert,
        "new_form": new_form or NewYarnForm(user=request.user),
        "is_part": wants_fragment(request),
        **more,
    }
    template = "palettes/palette.html"
    if wants_fragment(request):
        template += "#changes"
    return render(request, template, context, status=UNPROCESSABLE if refused else None)


def changed(request: MemberRequest, said: str = "", **more: Any) -> HttpResponse:
    """Answer a change that was made: the changed parts, or back to the palette's page."""
    if wants_fragment(request):
        return show_palette(request, said=said, **more)
    if said:
        messages.success(request, said)
    return redirect("palettes:palette", request.knit_along.slug)


def send_picture(
    request: MemberRequest, data: bytes, content_type: str, version: str
) -> HttpResponse:
    """Answer with a picture, to be kept by the browser when it was asked for by its version."""
    response = HttpResponse(data, content_type=content_type)
    # Under its version the same picture will always be the same file.
    is_same = request.GET.get("version") == version
    response["Cache-Control"] = f"private, max-age={YEAR}, immutable" if is_same else "no-store"
    return response


def own_yarns(request: MemberRequest) -> QuerySet[Yarn]:
    """Return the yarns that the reader may change: their own, in this knit-along."""
    return Yarn.objects.filter(palette__participant=request.participant).select_related(
        "palette__participant__knit_along"
    )


def sent_keys(data: QueryDict, name: str) -> tuple[int, ...]:
    """Return the keys of rows that were sent, each once and in their order."""
    sent = [key for key in data.getlist(name) if key.isdecimal() and len(key) <= MOST_DIGITS]
    return tuple(dict.fromkeys(map(int, sent)))
