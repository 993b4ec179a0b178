"""What moderators do, each act logged and each with another that undoes it."""

from datetime import datetime

from django.db import models, transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from kal.models import AuditEntry, Participant, Role
from schedule.clue_notes import renew_notes
from schedule.errors import NotTheirs
from schedule.models import Answer, Clue, Post, PostingBlock, Question, Report, Thing, Unveiling

Outcome = Report.Outcome
NAMES = {Post: "post", Question: "question", Answer: "answer"}


def name_of(thing: Thing) -> str:
    """Return 'post', 'question' or 'answer': the field of a report, and a part of addresses."""
    return NAMES[type(thing)]


def reports_of(thing: Thing) -> models.QuerySet[Report]:
    return Report.objects.filter(**{name_of(thing): thing})


@transaction.atomic
def report(thing: Thing, *, reason: str, by: Participant, now: datetime) -> None:
    """Ask those who moderate to look at something; a second report by the same person adds none."""
    Report.objects.get_or_create(
        reporter=by,
        outcome=Outcome.OPEN,
        **{name_of(thing): thing},
        defaults={"reason": reason, "at": now},
    )


@transaction.atomic
def hide(thing: Thing, *, why: str, by: Participant, now: datetime) -> bool:
    """Hide something from all but its author, who reads why; False if it was hidden already."""
    shown = type(thing)._default_manager.filter(pk=thing.pk, hidden_at=None)
    if not shown.update(hidden_at=now, hidden_why=why, hidden_by=by.user):
        return False
    # Hidden unasked, it is on the list of what is hidden too.
    report(thing, reason=why, by=by, now=now)
    _settle(thing, Outcome.OPEN, Outcome.HIDDEN, by=by, now=now)
    _renew(thing)
    _log(thing, f"hid {_a(thing)}", by=by, now=now, why=why)
    return True


@transaction.atomic
def restore(thing: Thing, *, by: Participant, now: datetime) -> bool:
    """Show something again that was hidden; False if it was not."""
    hidden = type(thing)._default_manager.filter(pk=thing.pk, hidden_at__isnull=False)
    if not hidden.update(hidden_at=None, hidden_why="", hidden_by=None):
        return False
    _settle(thing, Outcome.HIDDEN, Outcome.DISMISSED, by=by, now=now)
    _renew(thing)
    _log(thing, f"showed a hidden {name_of(thing)} again", by=by, now=now)
    return True


@transaction.atomic
def dismiss(thing: Thing, *, by: Participant, now: datetime) -> bool:
    """Settle the reports of something that may stay as it is; False if none was open."""
    if not _settle(thing, Outcome.OPEN, Outcome.DISMISSED, by=by, now=now):
        return False
    _log(thing, f"dismissed reports of {_a(thing)}", by=by, now=now)
    return True


@transaction.atomic
def reopen(thing: Thing, *, by: Participant, now: datetime) -> bool:
    """Put dismissed reports of something back into the queue, but for whoever reported it again."""
    again = reports_of(thing).filter(outcome=Outcome.OPEN).values("reporter")
    dismissed = reports_of(thing).filter(outcome=Outcome.DISMISSED).exclude(reporter__in=again)
    newest = {row.reporter_id: row.pk for row in dismissed}  # in order, so the last one stays
    found = Report.objects.filter(pk__in=newest.values())
    if not found.update(outcome=Outcome.OPEN, settled_at=None, settled_by=None):
        return False
    _log(thing, f"reopened reports of {_a(thing)}", by=by, now=now)
    return True


@transaction.atomic
def retag(thing: Post | Question, clue: Clue, *, by: Participant, now: datetime) -> bool:
    """Say of which clue something is really about, so that the right cover is before it.

    Whoever had said "show me" to it did not mean this clue, so that is taken back.
    """
    before = thing.clue
    if before.pk == clue.pk:
        return False
    # A finished object is about the last clue by its nature; what is moved is none.
    is_post = isinstance(thing, Post)
    change = {"clue": clue} | ({"is_finished": False, "moved_to": clue} if is_post else {})
    type(thing)._default_manager.filter(pk=thing.pk).update(**change)
    Unveiling.objects.filter(**{name_of(thing): thing}).delete()
    renew_notes(before)
    thing.clue = clue
    _renew(thing)
    _log(thing, f"moved {_a(thing)} to another clue", by=by, now=now, before=before.number)
    return True


@transaction.atomic
def block(participant: Participant, *, why: str, by: Participant, now: datetime) -> bool:
    """Keep somebody from posting; False if they were; NotTheirs when it is not `by`'s to do."""
    if participant.role != Role.PARTICIPANT and not (
        by.is_organiser and not participant.is_organiser
    ):
        raise NotTheirs(
            _("%(person)s looks after this knit-along; an organiser decides about that.")
            % {"person": participant.user}
        )
    _row, is_new = PostingBlock.objects.get_or_create(
        participant=participant, lifted_at=None, defaults={"why": why, "by": by.user, "at": now}
    )
    if is_new:
        _log_person(
            participant, gettext_noop("blocked somebody from posting"), by=by, now=now, why=why
        )
    return is_new


@transaction.atomic
def lift_block(participant: Participant, *, by: Participant, now: datetime) -> bool:
    """Let somebody post again; False if they might."""
    standing = PostingBlock.objects.filter(participant=participant, lifted_at=None)
    if not standing.update(lifted_at=now):
        return False
    _log_person(participant, gettext_noop("let somebody post again"), by=by, now=now)
    return True


def _settle(thing: Thing, was: str, outcome: str, *, by: Participant, now: datetime) -> int:
    found = reports_of(thing).filter(outcome=was)
    return found.update(outcome=outcome, settled_at=now, settled_by=by.user)


def _renew(thing: Thing) -> None:
    if not isinstance(thing, Post):
        renew_notes(thing.clue)


def _a(thing: Thing) -> str:
    return "an answer" if isinstance(thing, Answer) else f"a {name_of(thing)}"


def _log(thing: Thing, act: str, *, by: Participant, now: datetime, **more: str | int) -> None:
    _log_person(thing.author, act, by=by, now=now, clue=thing.clue.number, **more)


def _log_person(
    person: Participant, act: str, *, by: Participant, now: datetime, **more: str | int
) -> None:
    AuditEntry.objects.record(
        by.knit_along,
        act,
        by=by.user,
        at=now,
        person=str(person.user),
        participant=person.pk,
        **more,
    )


# The acts above as they are stored, for the log's translators.
LOGGED = (
    gettext_noop("hid a post"),
    gettext_noop("showed a hidden post again"),
    gettext_noop("dismissed reports of a post"),
    gettext_noop("reopened reports of a post"),
    gettext_noop("moved a post to another clue"),
    gettext_noop("hid a question"),
    gettext_noop("showed a hidden question again"),
    gettext_noop("dismissed reports of a question"),
    gettext_noop("reopened reports of a question"),
    gettext_noop("moved a question to another clue"),
    gettext_noop("hid an answer"),
    gettext_noop("showed a hidden answer again"),
    gettext_noop("dismissed reports of an answer"),
    gettext_noop("reopened reports of an answer"),
    gettext_noop("moved an answer to another clue"),
)
