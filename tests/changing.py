"""Saying yes to a change of the schedule that a page has shown, and reading the schedule."""

import re
from datetime import datetime
from typing import Any

from django.test import Client

from kal.models import KnitAlong, User
from schedule.actions import Done, change_schedule
from schedule.changes import Change, fingerprint

WHY = "The dye lot is late."
PREVIEW = re.compile(r'name="preview" value="([^"]+)"')


def token_of(page: Any) -> str:
    """Return what the shown page's form would send to confirm it."""
    found = PREVIEW.search(page.content.decode())
    assert found, page.content.decode()
    return found[1]


def confirm(client: Client, desk: str, page: Any, **typed: Any) -> Any:
    """Press the button of the page that showed a change; `typed` as its form sends it."""
    sent = {"reason": WHY, "preview": token_of(page)} | typed
    return client.post(f"{desk}change/", sent, follow=True)


def make_change(
    knit_along: KnitAlong, change: Change, *, by: User, now: datetime, **told: Any
) -> Done:
    """Make a change on the schedule as it stands, with a reason and without mail unless given."""
    seen = fingerprint(list(knit_along.clues.order_by("number")))
    given: dict[str, Any] = {"reason": WHY, "tells": False} | told
    return change_schedule(knit_along, change, seen=seen, by=by, now=now, **given)


def instants(knit_along: KnitAlong) -> list[datetime]:
    """Return when each clue is due, in their order."""
    return [clue.release_at for clue in knit_along.clues.all()]
