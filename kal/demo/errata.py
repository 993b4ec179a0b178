"""The host puts the first clue of the shawl right, a day after everybody has opened it."""

from dataclasses import replace
from datetime import datetime, timedelta

from django.db.models import F

from kal.demo.clues import MAIL_TAKES
from kal.demo.events import Event
from kal.models import KnitAlong, User
from schedule.actions import save_clue
from schedule.drafts import Draft, draft_of
from schedule.models import Notice, Opening
from schedule.notices.ledger import announce_errata

MENDED_AFTER = timedelta(days=1)
NOTE = "What both panels hold after a ridge is said now, so that a missed yarn over shows at once."
ADDED = "\n\nAfter every ridge both panels hold the same odd number of stitches."


def put_first_clue_right(event: Event, knit_along: KnitAlong, host: User, *, now: datetime) -> None:
    """Save the mended clue and write its notices as sent; nobody is mailed today."""
    clue = knit_along.clues.order_by("number")[0]
    opened, at = clue.revision, clue.release_at + MENDED_AFTER
    if event.text_name != "shawl" or opened is None or at > now:
        return
    readers = knit_along.participants.filter(joined_at__lt=at)
    Opening.objects.bulk_create(Opening(participant=who, revision=opened) for who in readers)
    mended = with_more(draft_of(clue))
    save_clue(clue, replace(mended, note=NOTE), began_from=opened.number, by=host, now=at)
    announce_errata(clue.revisions.latest("number"), now=at)
    errata = Notice.objects.filter(clue=clue, revision__gt=0)
    errata.update(sent_at=at + MAIL_TAKES, attempts=F("attempts") + 1)


def with_more(draft: Draft) -> Draft:
    first, *others = draft.sections
    (way,) = first.ways
    mended = replace(first, ways=(replace(way, body=way.body + ADDED),))
    return replace(draft, sections=(mended, *others))
