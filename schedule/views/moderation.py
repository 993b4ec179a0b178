"""Reporting what should be looked at, and looking at it: the queue of those who moderate."""

from collections.abc import Callable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.db.models import Q, QuerySet
from django.http import Http404, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from kal.http import MemberRequest, frame, member_required, posted
from kal.models import MODERATORS
from schedule.actions import moderate as acts
from schedule.covers import (
    answers_for,
    moderated,
    posts_for,
    questions_for,
    see_earlier,
    see_uncovered,
)
from schedule.crowd_forms import ReasonForm
from schedule.errors import NotTheirs
from schedule.models import Answer, Post, PostingBlock, Question, Report, Thing
from schedule.views.crowd import (
    TOO_MANY_REQUESTS,
    UNPROCESSABLE,
    clue_about,
    numbers_for,
    page_of,
    within_limit,
)
from schedule.views.reading import never_kept
from schedule.visibility import readable_clues

KINDS: dict[str, type[Thing]] = {
    "post": Post,
    "question": Question,
    "answer": Answer,
}
FOR_VIEWER: dict[str, Callable[..., QuerySet[Any]]] = {
    "post": posts_for,
    "question": questions_for,
    "answer": answers_for,
}
OUTCOMES = {
    "open": Report.Outcome.OPEN,
    "hidden": Report.Outcome.HIDDEN,
    "dismissed": Report.Outcome.DISMISSED,
}
BLOCKED = "blocked"
moderator_required = member_required(roles=MODERATORS)


@require_http_methods(["GET", "HEAD", "POST"])
@never_kept
@member_required()
def report(request: MemberRequest, kind: str, key: UUID) -> HttpResponseBase:
    """Ask for a look at a post, question or answer; the page repeats nothing of it."""
    now = timezone.now()
    if kind not in KINDS:
        raise Http404
    thing: Thing = get_object_or_404(FOR_VIEWER[kind](request.participant, now), key=key)
    form = ReasonForm(posted(request))
    status = UNPROCESSABLE if form.is_bound else 200
    if form.is_valid():
        if within_limit(request, form, "report"):
            reason = form.cleaned_data["reason"]
            acts.report(thing, reason=reason, by=request.participant, now=now)
            messages.success(request, _("Thank you. Somebody who looks after this will see it."))
            return redirect(_list_of(thing), request.knit_along.slug)
        status = TOO_MANY_REQUESTS
    section = "progress" if kind == "post" else "questions"
    context = frame(request, section, form=form, kind=kind, key=key, number=thing.clue.number)
    return render(request, "schedule/report.html", context, status=status)


def _list_of(thing: Thing) -> str:
    return "schedule:progress" if isinstance(thing, Post) else "schedule:questions"


@require_safe
@never_kept
@moderator_required
def moderation(request: MemberRequest) -> HttpResponseBase:
    """The queue: `list` names which reports, or the people who are blocked."""
    chosen = request.GET.get("list", "open")
    if chosen == BLOCKED:
        return _blocked(request)
    if chosen not in OUTCOMES:
        raise Http404
    found = reports_for(request, timezone.now()).filter(outcome=OUTCOMES[chosen])
    page = page_of(request, found if chosen == "open" else found.order_by("-settled_at", "-pk"))
    rows = [
        (report, acts.name_of(report.thing), see_uncovered(report.thing, request.participant))
        for report in page
    ]
    return _queue(request, chosen, page=page, rows=rows)


def _blocked(request: MemberRequest) -> HttpResponseBase:
    standing = PostingBlock.objects.filter(
        participant__knit_along=request.knit_along, lifted_at=None
    )
    page = page_of(request, standing.select_related("participant__user", "by"))
    return _queue(request, BLOCKED, page=page)


def _queue(request: MemberRequest, chosen: str, **context: object) -> HttpResponseBase:
    lists = [
        ("open", _("To look at")),
        ("hidden", _("Hidden")),
        ("dismissed", _("Dismissed")),
        (BLOCKED, _("Blocked people")),
    ]
    context = _frame(request, chosen=chosen, lists=lists, query=f"list={chosen}&", **context)
    return render(request, "schedule/moderation.html", context)


def _frame(request: MemberRequest, **context: object) -> dict[str, object]:
    section = "desk" if request.participant.is_organiser else "reports"
    return frame(request, section, desk_section="reports", **context)


def reports_for(request: MemberRequest, now: datetime) -> QuerySet[Report]:
    """Return the reports of what this person may moderate, the oldest first."""
    clues = readable_clues(request.participant, now)
    theirs = Q(post__clue__in=clues) | Q(question__clue__in=clues)
    return Report.objects.filter(theirs | Q(answer__question__clue__in=clues)).select_related(
        "reporter__user",
        "settled_by",
        *("post__clue", "post__author__user"),
        *("question__clue", "question__author__user"),
        *("answer__question__clue", "answer__author__user"),
    )


@require_http_methods(["GET", "HEAD", "POST"])
@never_kept
@moderator_required
def moderate(request: MemberRequest, kind: str, key: UUID) -> HttpResponseBase:
    """One post, question or answer with its reports, and what may be done about it."""
    now = timezone.now()
    if kind not in KINDS:
        raise Http404
    thing = get_object_or_404(moderated(KINDS[kind], request.participant, now), key=key)
    if request.method != "POST":
        return _thing_page(request, thing, now)
    form = ReasonForm(request.POST)
    act = request.POST.get("act", "")
    if act in ("hide", "block") and not form.is_valid():
        return _thing_page(request, thing, now, act=act, form=form)
    try:
        done = _act(request, thing, act, form, now)
    except NotTheirs as refused:
        form.add_error(None, str(refused))
        return _thing_page(request, thing, now, act=act, form=form)
    messages.success(request, done)
    if act in ("hide", "dismiss"):
        return redirect("schedule:moderation", request.knit_along.slug)
    return redirect("schedule:moderate", request.knit_along.slug, kind, key)


def _act(
    request: MemberRequest,
    thing: Thing,
    act: str,
    form: ReasonForm,
    now: datetime,
) -> str:
    """Do one of the things a moderator may do and return it in words; 404 for any other."""
    by = request.participant
    if act == "hide":
        acts.hide(thing, why=form.cleaned_data["reason"], by=by, now=now)
        return _("It is hidden. Its author reads your reason; you can show it again at any time.")
    if act == "restore":
        acts.restore(thing, by=by, now=now)
        return _("It is shown again.")
    if act == "dismiss":
        acts.dismiss(thing, by=by, now=now)
        return _("It stays as it is, and its reports are dismissed.")
    if act == "reopen":
        acts.reopen(thing, by=by, now=now)
        return _("Its reports are back among those to look at.")
    if act == "block":
        acts.block(thing.author, why=form.cleaned_data["reason"], by=by, now=now)
        return _("%(person)s can no longer post, ask or answer.") % {"person": thing.author.user}
    if act == "lift":
        acts.lift_block(thing.author, by=by, now=now)
        return _("%(person)s can post again.") % {"person": thing.author.user}
    if act == "retag" and not isinstance(thing, Answer):
        number = request.POST.get("number", "")
        if number in map(str, numbers_for(request, now)):
            acts.retag(thing, clue_about(request, int(number), now), by=by, now=now)
            return _("It is about clue %(number)s now.") % {"number": number}
    raise Http404


def _thing_page(
    request: MemberRequest,
    thing: Thing,
    now: datetime,
    *,
    act: str = "",
    form: ReasonForm | None = None,
) -> HttpResponseBase:
    hide_form = form if form and act == "hide" else ReasonForm(auto_id="hide_%s")
    block_form = form if form and act == "block" else ReasonForm(auto_id="block_%s")
    reports = acts.reports_of(thing).select_related("reporter__user", "settled_by")
    context = _frame(
        request,
        kind=acts.name_of(thing),
        seen=see_uncovered(thing, request.participant),
        earlier=see_earlier(thing, request.participant, now) if isinstance(thing, Post) else [],
        hidden_by=thing.hidden_by,
        reports=reports,
        is_reported=any(report.outcome == Report.Outcome.OPEN for report in reports),
        is_dismissed=any(report.outcome == Report.Outcome.DISMISSED for report in reports),
        posting_block=thing.author.posting_blocks.filter(lifted_at=None).first(),
        numbers=[] if isinstance(thing, Answer) else numbers_for(request, now),
        hide_form=hide_form.labelled(_("Your reason, for its author")),
        block_form=block_form.labelled(_("Your reason, for them")),
    )
    status = UNPROCESSABLE if form else 200
    return render(request, "schedule/moderate.html", context, status=status)


@require_POST
@never_kept
@moderator_required
def lift_block(request: MemberRequest, pk: int) -> HttpResponseBase:
    """Let the participant with that primary key post again."""
    person = get_object_or_404(request.knit_along.participants, pk=pk)
    if acts.lift_block(person, by=request.participant, now=timezone.now()):
        messages.success(request, _("%(person)s can post again.") % {"person": person.user})
    address = reverse("schedule:moderation", args=[request.knit_along.slug])
    return redirect(f"{address}?list={BLOCKED}")
