"""Trying again what the ledger has given up."""

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext_noop

from kal.models import AuditEntry, KnitAlong, User
from schedule.models import Notice
from schedule.tasks import sweep_at


@transaction.atomic
def retry_notices(knit_along: KnitAlong, *, by: User, now: datetime) -> int:
    """Put every notice that failed for good back in the queue, with all its attempts; count them.

    Those of people who had left or turned mail off stay as they are.
    """
    failed = Notice.objects.of_knit_along(knit_along).given_up()
    count = failed.update(gave_up_at=None, attempts=0, try_after=now)
    AuditEntry.objects.record(
        knit_along, gettext_noop("tried mail again"), by=by, at=now, notices=count
    )
    sweep_at(now)
    return count
