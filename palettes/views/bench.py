"""The page of a photo, a participant's or a kit maker's: what is sent to it, and how it answers.

Every button sends all the marks along, so whatever was placed or typed is kept first, and a page
without script loses none of it.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, cast

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django_htmx.http import reswap, retarget

from kal.http import UserRequest, wants_fragment
from kal.models import KnitAlong
from palettes import marking
from palettes.board import MarkForms, box_round, read_board
from palettes.colour.light import Box
from palettes.errors import MarksUnfit, PaletteError
from palettes.mark_forms import CountForm, SpotForm
from palettes.measuring import read_marks
from palettes.models import AnyMark, AnyPhoto, KitYarn, Yarn
from palettes.translator import listed
from palettes.views.answers import UNPROCESSABLE


@dataclass(frozen=True)
class Bench:
    """A photo, the yarns that its colours may go onto, and what its page says round it.

    `at` names the addresses of the photo by what they are for; `frame` is the page's context.
    """

    photo: AnyPhoto
    yarns: QuerySet[Yarn] | QuerySet[KitYarn]
    knit_along: KnitAlong
    is_open: bool
    at: Mapping[str, str]
    frame: Mapping[str, object]


type Verb = Callable[[Bench, QueryDict, MarkForms, datetime], str]

PARTS = ("photo", "photo_image", "photo_daylight", "photo_grey", "remove_photo")
VERBS = ("keep_marks", "add_mark", "find_marks", "remove_mark", "apply_marks")


def addresses(prefix: str = "") -> dict[str, str]:
    """Return the names of a photo's addresses; those of one kind of photo share a prefix."""
    return {name: f"palettes:{prefix}{name}" for name in (*PARTS, *VERBS)}


def keep(_bench: Bench, _sent: QueryDict, _forms: MarkForms, _now: datetime) -> str:
    return ""


def add(bench: Bench, sent: QueryDict, _forms: MarkForms, now: datetime) -> str:
    marking.add_mark(bench.photo, _spot(sent, bench.photo), now=now)
    return _("A box is added: drag it onto its yarn, or place it by numbers.")


def remove(bench: Bench, sent: QueryDict, _forms: MarkForms, now: datetime) -> str:
    mark = get_object_or_404(bench.photo.marks.of_yarn(), pk=_number(sent.get("mark", "")))
    marking.remove_mark(cast(AnyMark, mark), now=now)
    return _("The box is removed.")


def find(bench: Bench, sent: QueryDict, _forms: MarkForms, now: datetime) -> str:
    form = CountForm(sent, count=bench.knit_along.colour_count)
    if not form.is_valid():
        most = marking.MAX_MARKS
        raise MarksUnfit(
            _("Say how many yarns to look for: a whole number from 1 to %(most)d.") % {"most": most}
        )
    found = marking.find_again(bench.photo, form.cleaned_data["count"], now=now)
    return ngettext("%(n)d yarn is found.", "%(n)d yarns are found.", found) % {"n": found}


def apply(bench: Bench, _sent: QueryDict, forms: MarkForms, now: datetime) -> str:
    if not forms.are_valid:
        raise MarksUnfit(_("Nothing is saved on your yarns yet: see what is marked below."))
    photo = bench.photo
    photo.refresh_from_db(fields=["is_light_trusted"])
    yarns = marking.apply_marks(photo, read_marks(photo, photo.marks.all()), now=now)
    told = [
        _("%(yarn)s has its colour: %(words)s.") % {"yarn": yarn.name, "words": yarn.colour_words}
        for yarn in yarns
    ]
    boxes = enumerate(photo.marks.of_yarn(), 1)
    if left_out := [str(number) for number, mark in boxes if not mark.has_target]:
        words = ngettext(
            "Box %(boxes)s is left out.", "Boxes %(boxes)s are left out.", len(left_out)
        )
        told.append(words % {"boxes": listed(left_out)})
    return " ".join(told)


def show_board(
    request: UserRequest,
    bench: Bench,
    *,
    data: Any = None,
    errors: Sequence[str] = (),
    said: str = "",
    is_applied: bool = False,
    part: str = "",
) -> HttpResponse:
    """Return the photo's page, or a part of it; with anything refused the status is 422.

    What was put on yarns is said by its button, which on a phone is far below the photo.
    """
    forms = MarkForms(bench.photo, bench.yarns, data)
    count = max(len(forms.yarns), bench.knit_along.colour_count)
    context = {
        "board": read_board(forms, CountForm(count=count), errors),
        "photo": bench.photo,
        "at": bench.at,
        "said": "" if is_applied else said,
        "applied": said if is_applied else "",
        "is_open": bench.is_open,
        "is_part": part == "readings",
        **bench.frame,
    }
    template = "palettes/photo.html" + (f"#{part}" if part else "")
    status = None if forms.are_valid and not errors else UNPROCESSABLE
    return render(request, template, context, status=status)


def keep_and(request: UserRequest, bench: Bench, verb: Verb) -> HttpResponse:
    """Keep all that was sent and can be used, then do the verb, and answer."""
    photo = bench.photo
    forms = MarkForms(photo, bench.yarns, request.POST)
    before = _marked(photo)
    said, errors = "", []
    try:
        _keep(photo, forms, now := timezone.now())
        said = verb(bench, request.POST, forms, now)
    except PaletteError as error:
        errors.append(str(error))
    photo.refresh_from_db(fields=["is_light_trusted"])
    is_refused = bool(errors) or not forms.are_valid
    data = request.POST if is_refused else None
    if not wants_fragment(request):
        if is_refused:
            return show_board(request, bench, data=data, errors=errors)
        if said:
            messages.success(request, said)
        return redirect(bench.at["photo"], bench.knit_along.slug, photo.pk)
    if not said and _marked(photo) == before:
        return show_board(request, bench, data=data, errors=errors, part="readings")
    is_applied = verb is apply
    response = show_board(
        request, bench, data=data, errors=errors, said=said, is_applied=is_applied, part="board"
    )
    return retarget(reswap(response, "outerHTML"), "#marks")


def _keep(photo: AnyPhoto, forms: MarkForms, now: datetime) -> None:
    is_trusted = photo.is_light_trusted
    if forms.light.is_bound and forms.light.is_valid():
        is_trusted = forms.light.cleaned_data["is_light_trusted"]
        if "white" in forms.light.changed_data:
            marking.mark_white(photo, forms.light.cleaned_data["white"], now=now)
    marking.keep_marks(photo, forms.accepted(), is_light_trusted=is_trusted, now=now)


def _marked(photo: AnyPhoto) -> list[tuple[int, str]]:
    """Return what tells whether boxes came or went, so that the page is drawn anew."""
    return list(photo.marks.values_list("pk", "kind"))


def _spot(asked: QueryDict, photo: AnyPhoto) -> Box:
    """Return the box for where the photo was clicked, or for its middle.

    Without script the photo itself is the button, and a browser sends where it was clicked in
    pixels of the size it is shown at.
    """
    if "spot.x" in asked and "spot.y" in asked:
        x, y = _number(asked.get("spot.x", "")) + 0.5, _number(asked.get("spot.y", "")) + 0.5
        return box_round(photo, x / photo.shown_width, y / photo.shown_height)
    form = SpotForm(asked)
    if form.is_valid():
        return box_round(photo, form.cleaned_data["at_x"] / 100, form.cleaned_data["at_y"] / 100)
    return box_round(photo, 0.5, 0.5)


def _number(text: str) -> int:
    return int(text) if text.isdecimal() and len(text) < 10 else 0
