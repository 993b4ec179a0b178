"""A buyers' file put on the join list: read, looked at, confirmed, and undone as a whole."""

from dataclasses import astuple
from datetime import datetime

from django.db import transaction
from django.db.models import QuerySet
from django.utils.translation import gettext_noop

from kal.buyers_file import BuyersFile
from kal.models import AuditEntry, BuyersImport, JoinListEntry, KnitAlong, User
from kal.models.joining import WAITS_FOR

FAULTS_KEPT = 200  # our choice: more are not read one by one; the count says how many there are
AT_ONCE = 500


@transaction.atomic
def keep_file(
    knit_along: KnitAlong, file: BuyersFile, *, file_name: str, now: datetime
) -> BuyersImport:
    """Keep what was read, to be looked at; an earlier file that was never confirmed goes."""
    _drop(knit_along.buyers_imports.waiting())
    return BuyersImport.objects.create(
        knit_along=knit_along,
        file_name=file_name[:120],
        rows=[astuple(buyer) for buyer in file.buyers],
        faults=[*file.faults[:FAULTS_KEPT], *[""] * max(0, len(file.faults) - FAULTS_KEPT)],
        read_at=now,
    )


@transaction.atomic
def forget_waiting(*, now: datetime) -> int:
    """Delete the files that nobody has said yes to in time, addresses and all; return how many."""
    return _drop(BuyersImport.objects.waiting().filter(read_at__lte=now - WAITS_FOR))


def _drop(waiting: QuerySet[BuyersImport]) -> int:
    """Delete files that wait; one that gets its yes at this very moment stays."""
    locked = list(waiting.select_for_update().values_list("pk", flat=True))
    BuyersImport.objects.filter(pk__in=locked).delete()
    return len(locked)


def new_rows(buyers_import: BuyersImport) -> list[list[str]]:
    """Return the rows whose address is not on the list yet."""
    listed = set(buyers_import.knit_along.join_list.values_list("email", flat=True))
    return [row for row in buyers_import.rows if row[0] not in listed]


@transaction.atomic
def confirm_import(buyers_import: BuyersImport, *, by: User, now: datetime) -> int | None:
    """Put the new addresses on the list and return how many; None if that was done before.

    An address that is on the list stays as it is, so that the same file twice changes nothing.
    """
    waiting = BuyersImport.objects.waiting().filter(pk=buyers_import.pk)
    if not waiting.update(confirmed_at=now):
        return None
    rows = new_rows(buyers_import)
    JoinListEntry.objects.bulk_create(
        (
            JoinListEntry(
                knit_along=buyers_import.knit_along,
                buyers_import=buyers_import,
                email=email,
                name=name,
                order_reference=order,
            )
            for email, name, order in rows
        ),
        batch_size=AT_ONCE,
        ignore_conflicts=True,
    )
    added = buyers_import.entries.count()
    # The addresses are on the list now; a second copy would only have to be erased as well.
    BuyersImport.objects.filter(pk=buyers_import.pk).update(added=added, rows=[], faults=[])
    AuditEntry.objects.record(
        buyers_import.knit_along,
        gettext_noop("imported buyers"),
        by=by,
        at=now,
        count=added,
        file=buyers_import.file_name,
    )
    return added


@transaction.atomic
def undo_import(buyers_import: BuyersImport, *, by: User, now: datetime) -> tuple[int, int] | None:
    """Take the addresses of an import off the list; None if that was done before.

    Returns how many were taken and how many stay because somebody has joined with them.
    """
    done = BuyersImport.objects.filter(
        pk=buyers_import.pk, confirmed_at__isnull=False, undone_at=None
    )
    if not done.update(undone_at=now):
        return None
    unused = list(buyers_import.entries.unused().values_list("pk", flat=True))
    kept = buyers_import.entries.count() - len(unused)
    for start in range(0, len(unused), AT_ONCE):
        JoinListEntry.objects.filter(pk__in=unused[start : start + AT_ONCE]).delete()
    AuditEntry.objects.record(
        buyers_import.knit_along,
        gettext_noop("undid an import of buyers"),
        by=by,
        at=now,
        count=len(unused),
        kept=kept,
        file=buyers_import.file_name,
    )
    return len(unused), kept
