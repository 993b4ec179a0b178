"""Batches of single-use join codes: made at once, and cancelled at once; each act logged."""

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext_noop

from kal.models import AuditEntry, CodeBatch, JoinCode, KnitAlong, User
from kal.models.joining import new_code


@transaction.atomic
def make_batch(
    knit_along: KnitAlong,
    *,
    label: str,
    count: int,
    expires_at: datetime | None,
    by: User,
    now: datetime,
) -> CodeBatch:
    """Store `count` new codes that admit one person each, under one label."""
    batch = CodeBatch.objects.create(
        knit_along=knit_along, label=label, expires_at=expires_at, made_at=now
    )
    JoinCode.objects.bulk_create(
        JoinCode(
            knit_along=knit_along,
            batch=batch,
            code=code,
            label=label,
            most_uses=1,
            expires_at=expires_at,
        )
        for code in fresh_codes(count)
    )
    AuditEntry.objects.record(
        knit_along,
        gettext_noop("made a batch of join codes"),
        by=by,
        at=now,
        count=count,
        label=label,
    )
    return batch


def fresh_codes(count: int) -> list[str]:
    """Return as many codes that nobody has yet, no two alike."""
    fresh: set[str] = set()
    while len(fresh) < count:
        more = {new_code() for _ in range(count - len(fresh))}
        fresh |= more - set(JoinCode.objects.filter(code__in=more).values_list("code", flat=True))
    return sorted(fresh)


@transaction.atomic
def cancel_batch(batch: CodeBatch, *, by: User, now: datetime) -> int | None:
    """Withdraw the codes nobody has used and return how many; None if it was cancelled before.

    Whoever has joined with one of its codes stays.
    """
    standing = CodeBatch.objects.filter(pk=batch.pk, cancelled_at=None)
    if not standing.update(cancelled_at=now):
        return None
    count = batch.codes.filter(uses=0, withdrawn_at=None).update(withdrawn_at=now)
    AuditEntry.objects.record(
        batch.knit_along,
        gettext_noop("cancelled a batch of join codes"),
        by=by,
        at=now,
        count=count,
        label=batch.label,
    )
    return count
