"""Sending the kind notes that a dry run suggests, once to each palette and pair of letters."""

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction
from django.urls import reverse
from django.utils.translation import gettext_noop

from kal.models import AuditEntry, KnitAlong, User
from palettes.models import Registration
from schedule.actions.messages import queue_messages
from schedule.models import PaletteNote
from schedule.notices.kinds import PALETTE_NOTE
from schedule.palette_notes import Addressee, filled_in, told_pairs

ROWS_AT_ONCE = 500


@transaction.atomic
def send_palette_notes(
    knit_along: KnitAlong,
    addressees: Sequence[Addressee],
    *,
    subject: str,
    body: str,
    by: User,
    now: datetime,
    clue: int | None = None,
) -> int:
    """Keep a note for each addressee and owe it to them by mail; return how many are new.

    Nobody is told of a pair twice for the same palette, be it sent twice or by two people at once:
    the knit-along's row is locked while it is looked who has been told. Whoever wants no mail
    finds the note on the page of their letters all the same.
    """
    KnitAlong.objects.select_for_update().get(pk=knit_along.pk)
    told = told_pairs(knit_along, [one.registration for one in addressees])
    current = set(
        Registration.objects.filter(knit_along=knit_along, is_current=True).values_list(
            "pk", flat=True
        )
    )
    owed = [
        one
        for one in addressees
        if one.registration in current
        and not set(one.key.split()) <= told.get(one.registration, set())
    ]
    if not owed:
        return 0
    PaletteNote.objects.bulk_create(
        [
            PaletteNote(
                registration_id=one.registration,
                participant=one.participant,
                pairs=one.key,
                body=filled_in(body, one),
                author=by,
                sent_at=now,
            )
            for one in owed
        ],
        batch_size=ROWS_AT_ONCE,
    )
    queue_messages(
        knit_along,
        kind=PALETTE_NOTE.name,
        subject=subject,
        body=body,
        recipients=[(one.participant, one.merge) for one in owed],
        by=by,
        now=now,
        path=reverse("schedule:letters", args=[knit_along.slug]),
    )
    about = {} if clue is None else {"clue": clue}
    AuditEntry.objects.record(
        knit_along, gettext_noop("sent notes on palettes"), by=by, at=now, notes=len(owed), **about
    )
    return len(owed)
