"""Writing the ledger: one row per participant and event, in one transaction with its cause.

A clue coming out is told to whoever wants mail at that moment; somebody who joins later finds it
on the page. Errata go to those who want mail and have opened the clue as it was before; whoever
has not finds it put right.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime

from django.db import transaction

from kal.addresses import site_host
from kal.models import Participant
from schedule.models import Clue, Message, Notice, Opening, Revision
from schedule.notices.kinds import CLUE_OUT, ERRATA, Kind

ROWS_AT_ONCE = 500


def announce_due(now: datetime) -> int:
    """Write the notices of every clue and erratum that is out and not announced; count them."""
    clues = sum(announce_clue(clue, now=now) for clue in Clue.objects.unannounced(now))
    errata = Revision.objects.unannounced_errata(now).select_related("clue")
    return clues + sum(announce_errata(revision, now=now) for revision in errata)


@transaction.atomic
def announce_clue(clue: Clue, *, now: datetime) -> int:
    """Write the notices that a clue is out and return how many; 0 if another run got there."""
    due = Clue.objects.unannounced(now).filter(pk=clue.pk)
    if not due.update(announced_at=now):
        return 0
    return write_notices(clue, CLUE_OUT, 0, now=now)


@transaction.atomic
def announce_errata(revision: Revision, *, now: datetime) -> int:
    """Write the notices that a clue was put right and return how many; 0 if done before."""
    due = Revision.objects.filter(pk=revision.pk, announced_at=None)
    if not due.update(announced_at=now):
        return 0
    return write_notices(revision.clue, ERRATA, revision.number, now=now)


def write_notices(clue: Clue, kind: Kind, revision: int, *, now: datetime) -> int:
    """Write one row for each participant who wants mail and has none yet; return how many want."""
    rows = list(owed(clue, kind, revision, now))
    write_rows(rows)
    return len(rows)


def owed(clue: Clue, kind: Kind, revision: int, now: datetime) -> Iterator[Notice]:
    wanting = Participant.objects.wanting_notices().filter(knit_along=clue.knit_along_id)
    if kind == ERRATA:
        older = Opening.objects.filter(revision__clue=clue, revision__number__lt=revision)
        wanting = wanting.filter(pk__in=older.values("participant"))
    for pk in wanting.values_list("pk", flat=True):
        yield Notice(
            participant_id=pk,
            kind=kind.name,
            clue=clue,
            revision=revision,
            mail_id=mail_id(kind.name, clue.pk, revision, pk),
            try_after=now,
        )


@transaction.atomic
def write_message(
    message: Message, merges: Mapping[int, Mapping[str, str]], *, now: datetime
) -> int:
    """Write one row for each participant, by primary key, who has none; return how many those are.

    A race with another writer of the same message ends in one row each.
    """
    has_one = set(message.notices.values_list("participant", flat=True))
    new = [
        Notice(
            participant_id=pk,
            kind=message.kind,
            message=message,
            merge=dict(merge),
            mail_id=mail_id(message.kind, "message", message.pk, pk),
            try_after=now,
        )
        for pk, merge in merges.items()
        if pk not in has_one
    ]
    write_rows(new)
    return len(new)


def write_rows(rows: Iterable[Notice]) -> None:
    Notice.objects.bulk_create(rows, batch_size=ROWS_AT_ONCE, ignore_conflicts=True)


def mail_id(*parts: object) -> str:
    """Return the Message-ID of one notice, the same however often it is sent (RFC 5322, 3.6.4)."""
    return f"<{'.'.join(map(str, parts))}@{site_host()}>"
