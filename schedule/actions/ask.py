"""Questions and answers about a clue, and the answers that are shown with the clue itself."""

from datetime import datetime

from django.db import transaction
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from kal.models import AuditEntry, Participant, User
from schedule.actions.messages import queue_messages
from schedule.actions.post import check_may_post
from schedule.clue_notes import renew_notes
from schedule.models import Answer, Clue, Question
from schedule.notices.kinds import ANSWER


@transaction.atomic
def ask_question(author: Participant, *, clue: Clue, words: str, now: datetime) -> Question:
    """Store a question about a clue that its author may read; Blocked if they may not post."""
    check_may_post(author)
    return Question.objects.create(author=author, clue=clue, words=words, at=now)


@transaction.atomic
def answer_question(question: Question, *, words: str, by: Participant, now: datetime) -> Answer:
    """Store an answer and owe its asker a mail: one for the crowd's first, one for a host's."""
    check_may_post(by)
    answer = Answer.objects.create(question=question, author=by, words=words, at=now)
    if question.author_id != by.pk and not question.is_hidden:
        _tell_the_asker(question, by=by, now=now)
    return answer


def _tell_the_asker(question: Question, *, by: Participant, now: datetime) -> None:
    """The mail has the asker's own words and no others: an answer may tell of the clue."""
    asker = Participant.objects.select_related("knit_along").get(pk=question.author_id)
    queue_messages(
        asker.knit_along,
        kind=ANSWER.name,
        subject=_("Your question about clue %(number)s has an answer")
        % {"number": question.clue.number},
        body=_("You asked:") + "\n\n{question}\n\n" + _("The answer is on the page below."),
        recipients=[(asker, {"question": question.words})],
        by=None,
        now=now,
        key=f"answer-{question.key}{'-host' if by.is_organiser else ''}",
        path=reverse("schedule:question", args=[asker.knit_along.slug, question.key]),
    )


@transaction.atomic
def put_in_notes(answer: Answer, *, by: User, now: datetime) -> None:
    """Show the question with this answer, and no other, on the page of its clue."""
    question = answer.question
    question.in_notes = answer
    question.save(update_fields=["in_notes"])
    renew_notes(question.clue)
    _log(question, gettext_noop("put an answer into a clue's notes"), by=by, now=now)


@transaction.atomic
def take_out_of_notes(question: Question, *, by: User, now: datetime) -> None:
    question.in_notes = None
    question.save(update_fields=["in_notes"])
    renew_notes(question.clue)
    _log(question, gettext_noop("took an answer out of a clue's notes"), by=by, now=now)


@transaction.atomic
def remove_own(thing: Question | Answer) -> None:
    """Remove a question with its answers, or one answer, at its author's wish."""
    clue = thing.clue
    thing.delete()
    renew_notes(clue)


def _log(question: Question, act: str, *, by: User, now: datetime) -> None:
    clue = question.clue
    AuditEntry.objects.record(clue.knit_along, act, by=by, at=now, clue=clue.number)
