"""Erasing people: from one knit-along, or altogether; by their own wish, or when their time is up.

Rows go in one transaction, files after it: a process that dies in between leaves files that no row
holds, which the worker removes a day later.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from kal.actions.people import check_organiser_remains
from kal.errors import LastOrganiser
from kal.models import AuditEntry, BuyersImport, Erasure, KnitAlong, Participant, User
from kal.models.audit_log import SOMEBODY_ERASED
from kal.models.participant import ParticipantQuerySet
from kal.records.belongings import (
    BY_ADDRESS,
    GOES,
    STAYS_WITHOUT,
    address_fields,
    belongings,
    files_of_person,
)
from kal.records.files import drop_files
from palettes.models import Registration
from schedule.clue_notes import renew_notes_by
from schedule.models import Clue, Message
from schedule.stamped import drop_copies_of

AT_ONCE = 200  # our choice: people a worker erases in one go, some seconds' work


@transaction.atomic
def erase_person(user: User, *, now: datetime) -> None:
    """Erase somebody and all that belongs to them, in every knit-along.

    LastOrganiser when a knit-along would be left without one; then nothing is erased.
    """
    for participant in user.memberships.select_related("user", "knit_along"):
        try:
            erase_participant(participant, why=Erasure.Why.OWN_WISH, now=now)
        except LastOrganiser:
            raise LastOrganiser(
                _(
                    "You are the only organiser of %(title)s: make somebody else an organiser "
                    "on its page of people first. Nothing was erased."
                )
                % {"title": participant.knit_along.title}
            ) from None
    _drop_after(files_of_person(user))
    by_address = [(BY_ADDRESS.get(label), rows) for label, rows in belongings(user)]
    for fate, rows in by_address:
        if fate == GOES:
            rows.delete()
    # After that, since what goes is found by the address that these lose.
    for row in (row for fate, rows in by_address if fate == STAYS_WITHOUT for row in rows):
        # A domain that is nobody's for good (RFC 2606, 2).
        blank = dict.fromkeys(address_fields(type(row)), f"erased-{row.pk}@erased.invalid")
        type(row)._base_manager.filter(pk=row.pk).update(**blank)
    _forget_address(user.email)
    user.delete()


@transaction.atomic
def erase_participant(participant: Participant, *, why: str, now: datetime) -> None:
    """Erase somebody from one knit-along; LastOrganiser while nobody else could host it."""
    if participant.left_at is None:
        check_organiser_remains(participant)
    own = Registration.objects.filter(palette__participant=participant)
    Erasure.objects.create(
        knit_along_id=participant.knit_along_id, why=why, had_palette=own.exists(), at=now
    )
    _drop_after(files_of_person(participant))
    # Its primary key is gone from the row that is deleted, and the copies' names begin with it.
    kept = Participant(pk=participant.pk, knit_along_id=participant.knit_along_id)
    transaction.on_commit(lambda: drop_copies_of(kept))
    renew_notes_by(participant)
    told = list(participant.notices.exclude(message=None).values_list("message", flat=True))
    for entry in AuditEntry.objects.filter(detail__participant=participant.pk):
        _forget(entry, {"person", "before_person", "address"})
    participant.delete()
    # Words to this one person alone, which may quote them.
    Message.objects.filter(pk__in=told, notices=None).delete()


def _forget(entry: AuditEntry, names: Iterable[str]) -> None:
    for name in names:
        if name in entry.detail:
            entry.detail[name] = SOMEBODY_ERASED
    entry.save(update_fields=["detail"])


def _forget_address(email: str) -> None:
    """Take an address out of the logs, and out of buyers' files that were not confirmed yet."""
    for entry in AuditEntry.objects.filter(detail__icontains=email).iterator():
        _forget(entry, {name for name, value in entry.detail.items() if email in str(value)})
    for read in BuyersImport.objects.exclude(rows=[]).iterator():
        read.rows = [row for row in read.rows if email not in row]
        read.save(update_fields=["rows"])


def _drop_after(paths: list[str]) -> None:
    transaction.on_commit(lambda: drop_files(paths))


def days_kept(knit_along: KnitAlong) -> int:
    """Return after how many days the data of those who left is erased; 0 for never."""
    own = knit_along.erase_left_after
    return int(settings.ERASE_LEFT_AFTER) if own is None else own


def ends_at(knit_along: KnitAlong) -> datetime:
    """Return the instant of the last clue, or else of cast-on."""
    last = Clue.objects.filter(knit_along=knit_along).aggregate(last=Max("release_at"))["last"]
    return knit_along.cast_on_at if last is None else max(last, knit_along.cast_on_at)


def due_in(knit_along: KnitAlong, now: datetime) -> ParticipantQuerySet:
    """Return who is to be erased at `now`: they left, and it ended, so many days ago."""
    days = days_kept(knit_along)
    if not days or ends_at(knit_along) + timedelta(days=days) > now:
        return Participant.objects.none()
    gone = Participant.objects.filter(knit_along=knit_along)
    return gone.filter(left_at__lte=now - timedelta(days=days)).order_by("pk")


def erase_due(*, now: datetime, most: int = AT_ONCE) -> int:
    """Erase up to `most` of the people whose time is up, each by itself; return how many."""
    count = 0
    for knit_along in KnitAlong.objects.order_by("pk"):
        for participant in due_in(knit_along, now).select_related("user")[: most - count]:
            erase_participant(participant, why=Erasure.Why.TIME_UP, now=now)
            count += 1
    return count
