"""The audit log: every act of an organiser, written in the transaction of the act itself."""

from datetime import datetime

from kal.models import AuditEntry, KnitAlong, User


def log_act(
    knit_along: KnitAlong, actor: User | None, act: str, *, now: datetime, **detail: object
) -> AuditEntry:
    """Store and return one act, e.g. 'moved a clue'; `detail` is JSON: text, numbers, lists."""
    return AuditEntry.objects.create(
        knit_along=knit_along, actor=actor, act=act, detail=detail, at=now
    )
