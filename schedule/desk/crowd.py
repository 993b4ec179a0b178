"""What waits for the host among the crowd's questions and reports."""

from datetime import datetime
from typing import Any

from django.db.models import Count, Exists, Min, OuterRef
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kal.desk.parts import Fact, Panel, Todo
from kal.models import KnitAlong
from schedule.desk.yarn import yarn_todos
from schedule.models import Answer, Question, Report


def crowd_panel(knit_along: KnitAlong, now: datetime) -> Panel:
    questions, reports = _questions(knit_along), _reports(knit_along)
    asked = reverse("schedule:desk_questions", args=[knit_along.slug])
    queue = reverse("schedule:moderation", args=[knit_along.slug])
    todos = []
    if questions["waiting"]:
        text = ngettext(
            "%(n)d question waits for an answer.",
            "%(n)d questions wait for an answer.",
            questions["waiting"],
        )
        words = text % {"n": questions["waiting"]}
        label = ngettext("Answer the question", "Answer the questions", questions["waiting"])
        todos.append(Todo(questions["oldest"], words, asked, label))
    if reports["waiting"]:
        text = ngettext(
            "%(n)d report waits to be looked at.",
            "%(n)d reports wait to be looked at.",
            reports["waiting"],
        )
        words = text % {"n": reports["waiting"]}
        label = ngettext("Look at the report", "Look at the reports", reports["waiting"])
        todos.append(Todo(reports["oldest"], words, queue, label))
    return Panel(
        _("Crowd"),
        (
            Fact(_("Questions waiting"), str(questions["waiting"]), asked),
            Fact(_("Reports waiting"), str(reports["waiting"]), queue),
        ),
        (*todos, *yarn_todos(knit_along, now)),
    )


def _questions(knit_along: KnitAlong) -> dict[str, Any]:
    """Return how many shown questions have no shown answer, and when the oldest was asked."""
    answered = Exists(Answer.objects.filter(question=OuterRef("pk"), hidden_at=None))
    asked = Question.objects.filter(clue__knit_along=knit_along, hidden_at=None)
    return asked.filter(~answered).aggregate(waiting=Count("pk"), oldest=Min("at"))


def _reports(knit_along: KnitAlong) -> dict[str, Any]:
    made = Report.objects.filter(reporter__knit_along=knit_along, outcome=Report.Outcome.OPEN)
    return made.aggregate(waiting=Count("pk"), oldest=Min("at"))
