"""What a participant marks in a photo of their own. Every button sends all the marks along.

So whatever was placed or typed is kept first, and a page without script loses none of it.
"""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST
from django_htmx.http import reswap, retarget

from kal.http import MemberRequest, frame, member_required, wants_fragment
from palettes import marking
from palettes.board import MarkForms, box_round, read_board
from palettes.colour.light import Box
from palettes.errors import MarksUnfit, PaletteError
from palettes.mark_forms import CountForm, SpotForm
from palettes.measuring import read_marks
from palettes.models import Photo
from palettes.views.answers import UNPROCESSABLE, own_yarns

type Verb = Callable[[Photo, MarkForms, datetime], str]


def own_photo(request: MemberRequest, pk: int) -> Photo:
    return get_object_or_404(request.participant.photos.all(), pk=pk)


@member_required()
@require_POST
def keep_marks(request: MemberRequest, pk: int) -> HttpResponse:
    return _keep_and(request, pk, lambda *_kept: "")


@member_required()
@require_POST
def add_mark(request: MemberRequest, pk: int) -> HttpResponse:
    def add(photo: Photo, _forms: MarkForms, now: datetime) -> str:
        marking.add_mark(photo, _spot(request, photo), now=now)
        return _("A box is added: drag it onto its yarn, or place it by numbers.")

    return _keep_and(request, pk, add)


@member_required()
@require_POST
def remove_mark(request: MemberRequest, pk: int) -> HttpResponse:
    def remove(photo: Photo, _forms: MarkForms, now: datetime) -> str:
        mark = get_object_or_404(photo.marks.of_yarn(), pk=_number(request.POST.get("mark", "")))
        marking.remove_mark(mark, now=now)
        return _("The box is removed.")

    return _keep_and(request, pk, remove)


@member_required()
@require_POST
def find_marks(request: MemberRequest, pk: int) -> HttpResponse:
    def find(photo: Photo, _forms: MarkForms, now: datetime) -> str:
        form = CountForm(request.POST, count=request.knit_along.colour_count)
        if not form.is_valid():
            most = marking.MAX_MARKS
            raise MarksUnfit(
                _("Say how many yarns to look for: a whole number from 1 to %(most)d.")
                % {"most": most}
            )
        found = marking.find_again(photo, form.cleaned_data["count"], now=now)
        return ngettext("%(n)d yarn is found.", "%(n)d yarns are found.", found) % {"n": found}

    return _keep_and(request, pk, find)


@member_required()
@require_POST
def apply_marks(request: MemberRequest, pk: int) -> HttpResponse:
    def apply(photo: Photo, forms: MarkForms, now: datetime) -> str:
        if not forms.are_valid:
            raise MarksUnfit(_("Nothing is saved on your yarns yet: see what is marked below."))
        photo.refresh_from_db()
        yarns = marking.apply_marks(photo, read_marks(photo, photo.marks.all()), now=now)
        return " ".join(
            _("%(yarn)s has its colour: %(words)s.")
            % {"yarn": yarn.name, "words": yarn.colour_words}
            for yarn in yarns
        )

    return _keep_and(request, pk, apply)


def show_board(
    request: MemberRequest,
    photo: Photo,
    *,
    data: Any = None,
    errors: Sequence[str] = (),
    said: str = "",
    part: str = "",
) -> HttpResponse:
    """Return the photo's page, or a part of it; with anything refused the status is 422."""
    forms = MarkForms(photo, own_yarns(request), data)
    count = max(len(forms.yarns), request.knit_along.colour_count)
    board = read_board(forms, CountForm(count=count), errors)
    context = {
        "board": board,
        "photo": photo,
        "said": said,
        "is_open": request.knit_along.are_palettes_open(timezone.now()),
        "is_part": part == "readings",
        **frame(request, "palette"),
    }
    template = "palettes/photo.html" + (f"#{part}" if part else "")
    status = None if forms.are_valid and not errors else UNPROCESSABLE
    return render(request, template, context, status=status)


def _keep_and(request: MemberRequest, pk: int, verb: Verb) -> HttpResponse:
    """Keep all that was sent and can be used, then do the verb, and answer."""
    photo = own_photo(request, pk)
    forms = MarkForms(photo, own_yarns(request), request.POST)
    before = _marked(photo)
    said, errors = "", []
    try:
        _keep(photo, forms, now := timezone.now())
        said = verb(photo, forms, now)
    except PaletteError as error:
        errors.append(str(error))
    photo.refresh_from_db()
    is_refused = bool(errors) or not forms.are_valid
    data = request.POST if is_refused else None
    if not wants_fragment(request):
        if is_refused:
            return show_board(request, photo, data=data, errors=errors)
        if said:
            messages.success(request, said)
        return redirect("palettes:photo", request.knit_along.slug, photo.pk)
    if not said and _marked(photo) == before:
        return show_board(request, photo, data=data, errors=errors, part="readings")
    response = show_board(request, photo, data=data, errors=errors, said=said, part="board")
    return retarget(reswap(response, "outerHTML"), "#marks")


def _keep(photo: Photo, forms: MarkForms, now: datetime) -> None:
    is_trusted = photo.is_light_trusted
    if forms.light.is_bound and forms.light.is_valid():
        is_trusted = forms.light.cleaned_data["is_light_trusted"]
        if "white" in forms.light.changed_data:
            marking.mark_white(photo, forms.light.cleaned_data["white"], now=now)
    marking.keep_marks(photo, forms.accepted(), is_light_trusted=is_trusted, now=now)


def _marked(photo: Photo) -> list[tuple[int, str]]:
    """Return what tells whether boxes came or went, so that the page is drawn anew."""
    return list(photo.marks.values_list("pk", "kind"))


def _spot(request: MemberRequest, photo: Photo) -> Box:
    """Return the box for where the photo was clicked, or for its middle.

    Without script the photo itself is the button, and a browser sends where it was clicked in
    pixels of the size it is shown at.
    """
    asked = request.POST
    if "spot.x" in asked and "spot.y" in asked:
        x, y = _number(asked["spot.x"]) + 0.5, _number(asked["spot.y"]) + 0.5
        return box_round(photo, x / photo.shown_width, y / photo.shown_height)
    form = SpotForm(asked)
    if form.is_valid():
        return box_round(photo, form.cleaned_data["at_x"] / 100, form.cleaned_data["at_y"] / 100)
    return box_round(photo, 0.5, 0.5)


def _number(text: str) -> int:
    return int(text) if text.isdecimal() and len(text) < 10 else 0
