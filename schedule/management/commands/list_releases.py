"""`manage.py list_releases KNITALONG`: when each clue goes out, and whether it may."""

import json
from datetime import UTC, datetime
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from kal.management.refusing import OneLineCommand, refuse
from kal.models import KnitAlong
from schedule.models import Clue


class Command(OneLineCommand):
    help = "List a knit-along's clues. A title that is still secret is not printed."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("knit_along", metavar="KNITALONG", help="the name in its address")
        parser.add_argument("--json", action="store_true", help="print everything as JSON")
        parser.add_argument(
            "--as-organiser", action="store_true", help="print titles that are still secret too"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        knit_along = find(options["knit_along"])
        now = timezone.now()
        clues = [
            describe(clue, knit_along, now, as_organiser=options["as_organiser"])
            for clue in knit_along.clues.all()
        ]
        if options["json"]:
            report = {"knit_along": knit_along.slug, "zone": knit_along.zone, "clues": clues}
            self.stdout.write(json.dumps(report, indent=2))
        elif not clues:
            self.stdout.write(f"{knit_along.slug} has no clues yet.")
        else:
            self.stdout.write("\n".join(map(in_words, clues)))


def find(slug: str) -> KnitAlong:
    try:
        return KnitAlong.objects.get(slug=slug)
    except (KnitAlong.DoesNotExist, UnicodeEncodeError):
        raise refuse(
            f"No knit-along is called {slug!r}; use the last part of its address, /k/…."
        ) from None


def describe(
    clue: Clue, knit_along: KnitAlong, now: datetime, *, as_organiser: bool
) -> dict[str, Any]:
    """Return one clue for JSON; `title` is None while it is secret, or not given."""
    shows_title = as_organiser or clue.is_out(now) or not clue.title_is_secret
    return {
        "number": clue.number,
        "utc": f"{clue.release_at.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}",
        "local": clue.release_at.astimezone(knit_along.tz).isoformat(timespec="seconds"),
        "state": state(clue, now),
        "is_late": clue.release_at <= now and not clue.is_out(now),
        "title": (clue.title or None) if shows_title else None,
    }


def state(clue: Clue, now: datetime) -> str:
    """Return 'out', 'held', 'ready' or 'not ready'."""
    if clue.is_out(now):
        return "out"
    if clue.is_held:
        return "held"
    return "ready" if clue.ready_at else "not ready"


def in_words(clue: dict[str, Any]) -> str:
    late = ", late" if clue["is_late"] else ""
    title = f"  {clue['title']}" if clue["title"] else ""
    return f"{clue['number']:>2}  {clue['utc']}  {clue['local']}  {clue['state']}{late}{title}"
