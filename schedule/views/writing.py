"""Pages where the organiser writes a clue and sees it as a participant will."""

import re
from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any, cast
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponseBase, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from kal.http import MemberRequest, organiser_required, wants_fragment
from palettes.uploads import receives_photo
from schedule.actions import drop_words, keep_words, save_clue, store_attachment
from schedule.actions.write import is_same
from schedule.clue_faults import clue_faults
from schedule.clue_form import SHOWS, ClueForm, initial_of, rows_of
from schedule.comparing import Change
from schedule.conflict import Answers, Question, answers_in, changes_taken, questions_for
from schedule.counts import count_problems
from schedule.covers import answers_for
from schedule.drafts import Draft, draft_numbered, draft_of
from schedule.errors import NoteMissing, ScheduleError, StaleEdit
from schedule.merging import Place, merge, take
from schedule.models import Clue, UnsavedWords
from schedule.preflight import preflight
from schedule.reading import preview_clue as previewed
from schedule.reading import try_draft
from schedule.section_forms import begin_at_last, with_one_more
from schedule.views.planning import state_of
from schedule.views.reading import never_kept

LONGEST_NOTE = 300
NOT_KEPT = {"csrfmiddlewaretoken", "add", "new_file"}


@require_http_methods(["GET", "HEAD", "POST"])
@receives_photo
@never_kept
@organiser_required
def edit_clue(request: MemberRequest, number: int) -> HttpResponseBase:
    clue, now = clue_of(request, number), timezone.now()
    if request.method != "POST":
        return _open(request, clue, now)
    if "add" in request.POST:
        form = _form_sent(request, clue, now)
        wanted = request.POST["add"]
        data = with_one_more(cast(QueryDict, form.data), wanted)
        form = typed_form(clue, data, now, form.files)
        begin_at_last(form.rows, wanted)
        _keep(request, clue, data, now)
        return _page(request, clue, form, now)
    return _save(request, clue, now)


def clue_of(request: MemberRequest, number: int) -> Clue:
    return get_object_or_404(
        Clue.objects.select_related("knit_along"), knit_along=request.knit_along, number=number
    )


def _open(request: MemberRequest, clue: Clue, now: datetime) -> HttpResponseBase:
    """Show what is stored, or what its author had typed and not saved."""
    unsaved = UnsavedWords.objects.filter(clue=clue, author=request.user).first()
    note = note_from_answer(request, clue, now)
    if unsaved is None:
        return _stored_page(request, clue, note, now)
    data, newest = as_sent(unsaved), clue.revision
    data["began_from"] = str(unsaved.began_from)
    if note and not data.get("note"):
        data["note"] = note
    form = typed_form(clue, data, now)
    stale = StaleEdit(newest) if newest and newest.number > unsaved.began_from else None
    if stale and form.is_valid():
        still_open = answers_in(data).open
        mine = _as_answered(clue, form)
        return _merged_page(request, clue, mine, unsaved.began_from, stale, now, still_open)
    if not stale and form.is_valid() and is_same(form.draft(), draft_of(clue)):
        return _stored_page(request, clue, data.get("note", ""), now)
    return _page(request, clue, form, now, stale=stale, unsaved=unsaved)


def as_sent(unsaved: UnsavedWords) -> QueryDict:
    """Return kept words as the form once sent them."""
    data = QueryDict(mutable=True)
    for name, values in unsaved.fields.items():
        data.setlist(name, values)
    return data


def note_from_answer(request: MemberRequest, clue: Clue, now: datetime) -> str:
    """Return the words of the answer named by ?answer=, to begin an erratum with, or ''."""
    try:
        key = UUID(request.GET.get("answer", ""))
    except ValueError:
        return ""
    answer = answers_for(request.participant, now).filter(key=key, question__clue=clue).first()
    return " ".join(answer.words.split())[:LONGEST_NOTE] if answer else ""


def _stored_page(request: MemberRequest, clue: Clue, note: str, now: datetime) -> HttpResponseBase:
    newest, draft = clue.revision, replace(draft_of(clue), note=note)
    form = form_from(clue, draft, newest.number if newest else 0, now)
    return _page(request, clue, form, now, draft=draft)


def form_from(clue: Clue, draft: Draft, began_from: int, now: datetime) -> ClueForm:
    return ClueForm(
        initial=initial_of(draft, began_from) | {"note": draft.note},
        rows=rows_of(draft),
        clue=clue,
        is_released=clue.is_released(now),
    )


def typed_form(clue: Clue, data: QueryDict, now: datetime, files: Any = None) -> ClueForm:
    return ClueForm(data, files, clue=clue, is_released=clue.is_released(now))


def _save(request: MemberRequest, clue: Clue, now: datetime) -> HttpResponseBase:
    form = _form_sent(request, clue, now)
    if not form.is_valid():
        return _page(request, clue, form, now, status=422)
    if answers_in(cast(QueryDict, form.data)).open:
        return _page(request, clue, form, now, status=422, unanswered=True)
    draft, began_from = _as_answered(clue, form), form.cleaned_data["began_from"]
    try:
        changed = save_clue(clue, draft, began_from=began_from, by=request.user, now=now)
    except StaleEdit as stale:
        return _merged_page(request, clue, draft, began_from, stale, now, status=409)
    except ScheduleError as refused:
        form.add_error("note" if isinstance(refused, NoteMissing) else "body", str(refused))
        return _page(request, clue, form, now, status=422)
    messages.success(request, _("Saved.") if changed else _("Nothing was changed."))
    return redirect("schedule:edit_clue", clue.knit_along.slug, clue.number)


def _as_answered(clue: Clue, form: ClueForm) -> Draft:
    """Return what the valid form holds, with theirs where theirs was chosen."""
    chosen = answers_in(cast(QueryDict, form.data)).theirs
    theirs = draft_numbered(clue, form.cleaned_data["began_from"]) if chosen else None
    return take(form.draft(), theirs, chosen) if theirs else form.draft()


def _merged_page(
    request: MemberRequest,
    clue: Clue,
    mine: Draft,
    began_from: int,
    stale: StaleEdit,
    now: datetime,
    still_open: Collection[Place] = (),
    *,
    status: int = 200,
) -> HttpResponseBase:
    """Show this edit and the one saved meanwhile put together, and ask where they disagree."""
    clue, number = clue_of(request, clue.number), stale.newest.number
    base, theirs = draft_numbered(clue, began_from), draft_numbered(clue, number)
    assert theirs is not None
    merged = merge(base, theirs, mine, still_open=still_open)
    return _page(
        request,
        clue,
        form_from(clue, merged.draft, number, now),
        now,
        status=status,
        stale=stale,
        draft=merged.draft,
        questions=questions_for(clue.pk, merged.questions, theirs, merged.draft, Answers()),
        taken=changes_taken(clue.pk, merged.taken, base, theirs) if base else (),
    )


def _questions_again(clue: Clue, form: ClueForm, mine: Draft | None) -> list[Question]:
    """Return the questions that the form was sent with, as it answers them so far."""
    answers = answers_in(cast(QueryDict, form.data)) if form.is_bound else Answers()
    if not answers.places or (began_from := form.cleaned_data.get("began_from")) is None:
        return []
    theirs = draft_numbered(clue, began_from)
    return questions_for(clue.pk, answers.places, theirs, mine, answers) if theirs else []


def _form_sent(request: MemberRequest, clue: Clue, now: datetime) -> ClueForm:
    """Return what was typed, the new file stored and in its place if nothing is wrong with it.

    Stored before anything else can fail, so that a good file need not be chosen twice.
    """
    form = typed_form(clue, request.POST, now, request.FILES)
    if form.usable_file is None:
        return form
    data = request.POST.copy()
    alt = data.get("new_alt", "")
    kept = store_attachment(clue, form.usable_file, alt=alt, by=request.user, now=now)
    data.appendlist("kept_files", str(kept.pk))
    data[f"{SHOWS}{kept.pk}"], data["new_alt"] = alt, ""
    return typed_form(clue, data, now)


def _page(
    request: MemberRequest,
    clue: Clue,
    form: ClueForm,
    now: datetime,
    *,
    status: int = 200,
    stale: StaleEdit | None = None,
    unsaved: UnsavedWords | None = None,
    draft: Draft | None = None,
    questions: Sequence[Question] | None = None,
    taken: Sequence[Change] = (),
    unanswered: bool = False,
) -> HttpResponseBase:
    if form.is_bound and form.is_valid():
        draft = form.draft()
    if questions is None:
        questions = _questions_again(clue, form, draft)
    context = {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "desk",
        "clue": clue,
        "state": state_of(clue, now),
        "is_released": clue.is_released(now),
        "form": form,
        "faults": clue_faults(form),
        "is_refused": status != 200,
        "stale": stale,
        "remarks": () if clue.is_released(now) else preflight(clue, now),
        "is_merged": stale and draft,
        "questions": questions,
        "taken": taken,
        "unanswered": unanswered,
        "unsaved": unsaved,
        "counts": count_problems(draft or draft_of(clue)),
        "revisions": clue.revisions.select_related("author").order_by("-number"),
    }
    return render(request, "schedule/edit_clue.html", context, status=status)


@require_POST
@never_kept
@organiser_required
def keep_clue(request: MemberRequest, number: int) -> HttpResponseBase:
    """Keep what is typed for its author, without saving it; answer with when it was kept."""
    clue, now = clue_of(request, number), timezone.now()
    kept = _keep(request, clue, request.POST, now)
    context = {"kept": kept, "now": now, "knit_along": request.knit_along}
    return render(request, "schedule/edit_clue.html#kept", context)


def _keep(request: MemberRequest, clue: Clue, data: QueryDict, now: datetime) -> bool:
    """Keep what is typed; False where its author has saved the clue elsewhere since."""
    fields = {name: values for name, values in data.lists() if name not in NOT_KEPT}
    began = data.get("began_from", "")
    return keep_words(
        clue,
        fields,
        began_from=int(began) if re.fullmatch(r"\d{1,6}", began) else 0,
        by=request.user,
        now=now,
    )


@require_POST
@never_kept
@organiser_required
def discard_words(request: MemberRequest, number: int) -> HttpResponseBase:
    """Drop what this author typed and did not save."""
    clue = clue_of(request, number)
    drop_words(clue, by=request.user)
    messages.success(request, _("Your unsaved words are dropped; below is what is saved."))
    return redirect("schedule:edit_clue", request.knit_along.slug, number)


@require_POST
@never_kept
@organiser_required
def try_clue(request: MemberRequest, number: int) -> HttpResponseBase:
    """Show what is typed as a participant would find it, without saving it."""
    clue = clue_of(request, number)
    form = typed_form(clue, request.POST, timezone.now())
    context = {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "desk",
        "form": form,
        "number": number,
    }
    is_valid = form.is_valid()
    if is_valid:
        draft = form.draft()
        context |= {
            "clue": try_draft(request.participant, clue, draft),
            "counts": count_problems(draft),
        }
    part = "#tried" if wants_fragment(request) else ""
    status = 200 if is_valid else 422
    return render(request, f"schedule/try_clue.html{part}", context, status=status)


@require_safe
@never_kept
@organiser_required
def preview_clue(request: MemberRequest, number: int) -> HttpResponseBase:
    opened = previewed(request.participant, number)
    if opened is None:
        raise Http404
    context = {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "desk",
        "clue": opened,
    }
    return render(request, "schedule/preview_clue.html", context)
