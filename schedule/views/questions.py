"""Questions about clues and their answers; for the organiser, which of them wait for one."""

from datetime import datetime
from uuid import UUID

from django.contrib import messages
from django.db.models import Count, Exists, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce
from django.http import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from kal.http import MemberRequest, frame, member_required, organiser_required, posted
from kal.models import Participant
from schedule.actions import ask as acts
from schedule.actions.post import show_me
from schedule.covers import answers_for, questions_for, see_answers, see_question
from schedule.crowd_forms import AnswerForm, QuestionForm
from schedule.errors import Blocked
from schedule.models import Answer, Question
from schedule.views.crowd import (
    TOO_MANY_REQUESTS,
    UNPROCESSABLE,
    chosen_number,
    clue_about,
    clue_offered,
    numbers_for,
    page_of,
    within_limit,
)
from schedule.views.reading import never_kept

ANSWERED, WAITING = "answered", "waiting"


@require_safe
@never_kept
@member_required()
def questions(request: MemberRequest) -> HttpResponseBase:
    return _list(request, "schedule/questions.html", "questions")


@require_safe
@never_kept
@organiser_required
def desk_questions(request: MemberRequest) -> HttpResponseBase:
    """The same, oldest first, beginning with those that wait for an answer."""
    return _list(request, "schedule/desk_questions.html", "desk", state=WAITING)


def _list(
    request: MemberRequest, template: str, section: str, *, state: str = ""
) -> HttpResponseBase:
    now = timezone.now()
    numbers = numbers_for(request, now)
    chosen, state = chosen_number(request, numbers), request.GET.get("state", state)
    found = _in_state(counted(request.participant, now), state)
    found = found.filter(clue__number=chosen) if chosen else found
    page = page_of(request, found.order_by("at", "pk") if section == "desk" else found)
    context = frame(
        request,
        section,
        desk_section="questions",
        page=page,
        questions=[see_question(question, request.participant) for question in page],
        numbers=numbers,
        chosen=chosen,
        state=state,
        query=f"state={state}&clue={chosen or ''}&",
    )
    return render(request, template, context)


def counted(viewer: Participant, now: datetime) -> QuerySet[Question]:
    answers = Answer.objects.filter(question=OuterRef("pk"), hidden_at=None).order_by()
    count = answers.values("question").annotate(count=Count("pk")).values("count")
    return questions_for(viewer, now).annotate(  # type: ignore[no-redef]
        answer_count=Coalesce(Subquery(count), 0)
    )


def _in_state(found: QuerySet[Question], state: str) -> QuerySet[Question]:
    if state not in (ANSWERED, WAITING):
        return found
    has_answer = Exists(Answer.objects.filter(question=OuterRef("pk"), hidden_at=None))
    return found.filter(has_answer if state == ANSWERED else ~has_answer)


@require_http_methods(["GET", "HEAD", "POST"])
@never_kept
@member_required()
def ask(request: MemberRequest) -> HttpResponseBase:
    now = timezone.now()
    numbers = numbers_for(request, now)
    about = clue_offered(request, numbers)
    form = QuestionForm(posted(request), numbers=numbers, initial={"about": about})
    status = UNPROCESSABLE if form.is_bound else 200
    if form.is_valid():
        if not within_limit(request, form, "ask_question"):
            status = TOO_MANY_REQUESTS
        elif question := _asked(request, form, now):
            messages.success(request, _("Asked. You get a mail when there is an answer."))
            return redirect("schedule:question", request.knit_along.slug, question.key)
    context = frame(request, "questions", form=form)
    return render(request, "schedule/ask.html", context, status=status)


def _asked(request: MemberRequest, form: QuestionForm, now: datetime) -> Question | None:
    clue = clue_about(request, int(form.cleaned_data["about"]), now)
    try:
        return acts.ask_question(
            request.participant, clue=clue, words=form.cleaned_data["words"], now=now
        )
    except Blocked as refused:
        form.add_error(None, str(refused))
        return None


@require_safe
@never_kept
@member_required()
def question(request: MemberRequest, key: UUID) -> HttpResponseBase:
    return _question_page(request, _question(request, key), AnswerForm())


def _question(request: MemberRequest, key: UUID) -> Question:
    return get_object_or_404(counted(request.participant, timezone.now()), key=key)


def _question_page(
    request: MemberRequest, found: Question, form: AnswerForm, status: int = 200
) -> HttpResponseBase:
    now = timezone.now()
    context = frame(
        request,
        "questions",
        question=see_question(found, request.participant),
        answers=see_answers(found, request.participant, now),
        form=form,
    )
    return render(request, "schedule/question.html", context, status=status)


@require_POST
@never_kept
@member_required()
def answer_question(request: MemberRequest, key: UUID) -> HttpResponseBase:
    found = _question(request, key)
    form = AnswerForm(request.POST)
    if not form.is_valid():
        return _question_page(request, found, form, UNPROCESSABLE)
    if not within_limit(request, form, "answer_question"):
        return _question_page(request, found, form, TOO_MANY_REQUESTS)
    try:
        acts.answer_question(
            found, words=form.cleaned_data["words"], by=request.participant, now=timezone.now()
        )
    except Blocked as refused:
        form.add_error(None, str(refused))
        return _question_page(request, found, form, UNPROCESSABLE)
    messages.success(request, _("Thank you: your answer is there."))
    return redirect("schedule:question", request.knit_along.slug, key)


@require_POST
@never_kept
@member_required()
def show_question(request: MemberRequest, key: UUID) -> HttpResponseBase:
    """Take the cover off one question and its answers for good."""
    show_me(request.participant, _question(request, key))
    return redirect("schedule:question", request.knit_along.slug, key)


@require_POST
@never_kept
@member_required()
def remove_question(request: MemberRequest, key: UUID) -> HttpResponseBase:
    acts.remove_own(get_object_or_404(request.participant.questions, key=key))
    messages.success(request, _("Your question is removed, and its answers with it."))
    return redirect("schedule:questions", request.knit_along.slug)


@require_POST
@never_kept
@member_required()
def remove_answer(request: MemberRequest, key: UUID) -> HttpResponseBase:
    own = request.participant.answers.select_related("question__clue")
    answer = get_object_or_404(own, key=key)
    acts.remove_own(answer)
    messages.success(request, _("Your answer is removed."))
    return redirect("schedule:question", request.knit_along.slug, answer.question.key)


@require_POST
@never_kept
@organiser_required
def note_answer(request: MemberRequest, key: UUID) -> HttpResponseBase:
    """Show an answer on the page of its clue, or with `out` no longer."""
    now = timezone.now()
    answers = answers_for(request.participant, now).select_related("question__clue__knit_along")
    answer = get_object_or_404(answers, key=key)
    if request.POST.get("out") == "yes":
        acts.take_out_of_notes(answer.question, by=request.user, now=now)
        messages.success(request, _("The clue's page no longer shows this answer."))
    else:
        acts.put_in_notes(answer, by=request.user, now=now)
        messages.success(request, _("The clue's page now shows this question and its answer."))
    return redirect("schedule:question", request.knit_along.slug, answer.question.key)
