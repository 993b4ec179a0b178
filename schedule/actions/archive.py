"""Putting a finished knit-along away, where it is read and nothing of it changes; and back."""

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kal.models import AuditEntry, KnitAlong, User
from kal.models.audit_log import AS_THE_SITE_SAYS
from schedule.errors import NotOver
from schedule.models import Notice
from schedule.stamped import drop_copies_in


@transaction.atomic
def archive_knit_along(knit_along: KnitAlong, *, by: User, now: datetime) -> bool:
    """Archive it and drop what can be made anew; False if it was archived before.

    NotOver while a clue is to come or a mail is to be sent: nobody would be told of it.
    """
    knit_along = KnitAlong.objects.select_for_update().get(pk=knit_along.pk)
    if knit_along.archived_at:
        return False
    _check_is_over(knit_along, now)
    # Logged first: afterwards nothing is recorded of it but its coming back.
    AuditEntry.objects.record(knit_along, "archived it", by=by, at=now)
    knit_along.archived_at = now
    knit_along.save(update_fields=["archived_at"])
    transaction.on_commit(lambda: drop_copies_in(knit_along))
    return True


@transaction.atomic
def unarchive_knit_along(knit_along: KnitAlong, *, by: User, now: datetime) -> bool:
    """Let it be changed again; False if it was not archived."""
    archived = KnitAlong.objects.filter(pk=knit_along.pk, archived_at__isnull=False)
    if not archived.update(archived_at=None):
        return False
    AuditEntry.objects.record(knit_along, "took it out of the archive", by=by, at=now)
    return True


@transaction.atomic
def keep_data_for(knit_along: KnitAlong, days: int | None, *, by: User, now: datetime) -> bool:
    """Say after how many days those who left are erased; None as the site says, 0 never."""
    if knit_along.erase_left_after == days:
        return False
    KnitAlong.objects.filter(pk=knit_along.pk).update(erase_left_after=days)
    AuditEntry.objects.record(
        knit_along,
        "changed how long data is kept",
        by=by,
        at=now,
        before=_days_word(knit_along.erase_left_after),
        after=_days_word(days),
    )
    return True


def _days_word(days: int | None) -> str | int:
    return AS_THE_SITE_SAYS if days is None else days


def _check_is_over(knit_along: KnitAlong, now: datetime) -> None:
    coming = next((clue for clue in knit_along.clues.all() if not clue.is_out(now)), None)
    if coming:
        raise NotOver(
            _(
                "Clue %(number)d is not out, so the knit-along is not over; let it go out or "
                "remove it, then archive."
            )
            % {"number": coming.number}
        )
    unsent = Notice.objects.of_knit_along(knit_along).filter(sent_at=None, gave_up_at=None)
    if waiting := unsent.count():
        raise NotOver(
            ngettext(
                "%(count)d mail is still to be sent; archive when it is gone.",
                "%(count)d mails are still to be sent; archive when they are gone.",
                waiting,
            )
            % {"count": waiting}
        )
