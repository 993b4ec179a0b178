"""The glossary of a knit-along: what its abbreviations mean."""

import uuid
from collections.abc import Mapping
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext_noop

from kal.models import AuditEntry, KnitAlong, User
from schedule.models import GlossaryEntry


@transaction.atomic
def write_glossary(
    knit_along: KnitAlong, meanings: Mapping[str, str], *, by: User, now: datetime
) -> bool:
    """Make these the abbreviations of the knit-along; False when they are already."""
    KnitAlong.objects.select_for_update().get(pk=knit_along.pk)
    if GlossaryEntry.objects.meanings(knit_along) == dict(meanings):
        return False
    knit_along.glossary.all().delete()
    store_meanings(knit_along, meanings)
    AuditEntry.objects.record(
        knit_along, gettext_noop("changed the glossary"), by=by, at=now, entries=len(meanings)
    )
    return True


def store_meanings(knit_along: KnitAlong, meanings: Mapping[str, str]) -> None:
    """Fill the glossary of a knit-along that has none."""
    GlossaryEntry.objects.bulk_create(
        GlossaryEntry(knit_along=knit_along, short=short, meaning=meaning)
        for short, meaning in meanings.items()
    )
    # Pages of clues are remembered by it, whichever process made them.
    knit_along.clues.update(glossary_key=uuid.uuid4())
