"""Join codes and the join list: made, withdrawn, added to, taken from; each act logged."""

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext_noop

from kal.models import AuditEntry, JoinCode, JoinListEntry, KnitAlong, User


@transaction.atomic
def make_codes(template: JoinCode, count: int, *, by: User, now: datetime) -> list[JoinCode]:
    """Store `count` codes like the unsaved `template`, each with letters of its own."""
    made = [
        JoinCode.objects.create(
            knit_along=template.knit_along,
            label=template.label,
            most_uses=template.most_uses,
            expires_at=template.expires_at,
        )
        for _ in range(count)
    ]
    AuditEntry.objects.record(
        template.knit_along,
        gettext_noop("made join codes"),
        by=by,
        at=now,
        count=count,
        label=template.label,
    )
    return made


@transaction.atomic
def withdraw_code(code: JoinCode, *, by: User, now: datetime) -> bool:
    """Take a code back; False if it was withdrawn before."""
    live = JoinCode.objects.filter(pk=code.pk, withdrawn_at=None)
    if not live.update(withdrawn_at=now):
        return False
    # The log tells which code by its number and label: a code itself would admit its reader.
    AuditEntry.objects.record(
        code.knit_along,
        gettext_noop("withdrew a join code"),
        by=by,
        at=now,
        code=code.pk,
        label=code.label,
    )
    return True


@transaction.atomic
def add_to_join_list(
    knit_along: KnitAlong, emails: Iterable[str], *, by: User, now: datetime
) -> int:
    """Store the addresses that are not on the list yet, and return how many those were."""
    wanted = set(emails)
    listed = set(knit_along.join_list.filter(email__in=wanted).values_list("email", flat=True))
    fresh = sorted(wanted - listed)
    JoinListEntry.objects.bulk_create(
        [JoinListEntry(knit_along=knit_along, email=email) for email in fresh],
        ignore_conflicts=True,
    )
    if fresh:
        AuditEntry.objects.record(
            knit_along, gettext_noop("added to the join list"), by=by, at=now, count=len(fresh)
        )
    return len(fresh)


@transaction.atomic
def remove_from_join_list(entry: JoinListEntry, *, by: User, now: datetime) -> None:
    """Take one address off the list; whoever has joined with it stays."""
    AuditEntry.objects.record(
        entry.knit_along,
        gettext_noop("removed from the join list"),
        by=by,
        at=now,
        address=entry.email,
    )
    entry.delete()
