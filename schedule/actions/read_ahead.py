"""Reading ahead: comments on lines, answers to them, and signing a revision off."""

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from kal.models import AuditEntry, Participant, User
from schedule.errors import ReadAnother
from schedule.models import Clue, ReaderComment, Revision, SignOff
from schedule.models.read_through import LONGEST_QUOTE


def comment_on_line(
    revision: Revision,
    place: tuple[int, int, int],
    *,
    quoted: str,
    text: str,
    by: Participant,
    now: datetime,
) -> ReaderComment:
    """Store what an early reader says of a line; it stays with the revision they read."""
    section, way, line = place
    return ReaderComment.objects.create(
        revision=revision,
        reader=by,
        section=section,
        way=way,
        line=line,
        quoted=quoted[:LONGEST_QUOTE],
        text=text,
        written_at=now,
    )


@transaction.atomic
def answer_comment(
    comment: ReaderComment, *, answer: str, resolved: bool, by: User, now: datetime
) -> None:
    """Store the organiser's answer, and whether the matter is settled."""
    comment.answer, comment.answered_by = answer, by if answer else None
    comment.resolved_at = now if resolved else None
    comment.save(update_fields=["answer", "answered_by", "resolved_at"])
    clue = comment.revision.clue
    act = gettext_noop("resolved a comment") if resolved else gettext_noop("answered a comment")
    AuditEntry.objects.record(clue.knit_along, act, by=by, at=now, clue=clue.number)


@transaction.atomic
def sign_off(clue: Clue, number: int, *, by: Participant, now: datetime) -> None:
    """Sign off the revision with that number; ReadAnother when it is not the newest."""
    locked = Clue.objects.select_for_update().select_related("knit_along").get(pk=clue.pk)
    newest = locked.revision
    if newest is None or newest.number != number:
        raise ReadAnother(
            _(
                "Clue {number} was saved again while you read; read what is new, then sign "
                "that off."
            ).format(number=clue.number)
        )
    _signed, is_new = SignOff.objects.get_or_create(
        revision=newest, reader=by, defaults={"at": now}
    )
    if is_new:
        AuditEntry.objects.record(
            locked.knit_along,
            gettext_noop("signed off a clue"),
            by=by.user,
            at=now,
            clue=clue.number,
            revision=newest.number,
        )
