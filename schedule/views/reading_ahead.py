"""Where test knitters and the technical editor read a clue ahead, line by line."""

import re

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST, require_safe

from kal.http import MemberRequest, member_required, organiser_required
from kal.models import EARLY_READERS
from schedule.actions import answer_comment, comment_on_line, sign_off
from schedule.errors import ReadAnother
from schedule.models import Clue, ReaderComment, SignOff
from schedule.read_through import Place, read_through
from schedule.views.reading import never_kept
from schedule.visibility import readable_clues

early_reader_required = member_required(roles=EARLY_READERS)


class CommentForm(forms.Form):
    text = forms.CharField(
        label=gettext_lazy("Your comment"),
        max_length=2_000,
        widget=forms.Textarea(attrs={"rows": 3}),
    )


class AnswerForm(forms.Form):
    answer = forms.CharField(required=False, max_length=2_000)


@require_safe
@never_kept
@early_reader_required
def read_ahead(request: MemberRequest, number: int) -> HttpResponseBase:
    """Show every line; `at` is the one to comment on."""
    return _page(request, _clue(request, number), place_of(request.GET.get("at", "")))


@require_POST
@never_kept
@early_reader_required
def comment(request: MemberRequest, number: int) -> HttpResponseBase:
    clue, place = _clue(request, number), place_of(request.POST.get("at", ""))
    through = read_through(clue)
    line = through.line_at(place) if through and place else None
    if through is None or line is None:
        raise Http404
    form = CommentForm(request.POST)
    if str(through.revision.number) != request.POST.get("revision"):
        form.add_error(
            None,
            _("The clue was saved again while you wrote. See whether this is the line you mean."),
        )
    if not form.is_valid():
        return _page(request, clue, place, form)
    comment_on_line(
        through.revision,
        line.place,
        quoted=line.text,
        text=form.cleaned_data["text"],
        by=request.participant,
        now=timezone.now(),
    )
    return redirect(f"{_address(request, number)}#line-{line.anchor}")


@require_POST
@never_kept
@organiser_required
def answer(request: MemberRequest, number: int, pk: int) -> HttpResponseBase:
    """Answer a comment, and with `resolved` settle it."""
    comments = ReaderComment.objects.select_related("revision__clue__knit_along")
    found = get_object_or_404(
        comments,
        pk=pk,
        revision__clue__knit_along=request.knit_along,
        revision__clue__number=number,
    )
    form = AnswerForm(request.POST)
    if form.is_valid():
        answer_comment(
            found,
            answer=form.cleaned_data["answer"],
            resolved=request.POST.get("resolved") == "yes",
            by=request.user,
            now=timezone.now(),
        )
    else:
        messages.error(request, _("An answer has at most 2000 characters; nothing was stored."))
    return redirect(f"{_address(request, number)}#comment-{found.pk}")


@require_POST
@never_kept
@early_reader_required
def sign(request: MemberRequest, number: int) -> HttpResponseBase:
    """Sign off the `revision` that was read."""
    clue, typed = _clue(request, number), request.POST.get("revision", "")
    revision = int(typed) if re.fullmatch(r"\d{1,6}", typed) else 0
    try:
        sign_off(clue, revision, by=request.participant, now=timezone.now())
    except ReadAnother as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, _("Thank you: you have signed this revision off."))
    return redirect(_address(request, number))


def _clue(request: MemberRequest, number: int) -> Clue:
    readable = readable_clues(request.participant, timezone.now())
    return get_object_or_404(readable.select_related("knit_along"), number=number)


def _address(request: MemberRequest, number: int) -> str:
    return reverse("schedule:read_ahead", args=[request.knit_along.slug, number])


def place_of(text: str) -> Place | None:
    """Return the section, way and line that a text like 2-1-14 names, or None."""
    if not re.fullmatch(r"\d{1,3}-\d{1,3}-\d{1,6}", text):
        return None
    section, way, line = map(int, text.split("-"))
    return section, way, line


def _page(
    request: MemberRequest, clue: Clue, place: Place | None, form: CommentForm | None = None
) -> HttpResponseBase:
    through = read_through(clue)
    context = {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "clues",
        "clue": clue,
        "through": through,
        "open_line": through.line_at(place) if through and place else None,
        "form": form or CommentForm(),
        "has_signed": through is not None
        and SignOff.objects.filter(revision=through.revision, reader=request.participant).exists(),
    }
    status = 422 if form else 200
    return render(request, "schedule/read_ahead.html", context, status=status)
