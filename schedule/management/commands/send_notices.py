"""`manage.py send_notices`: the worker's sweep, for cron or by hand; safe to run at any time."""

import json
from typing import Any

from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from kal.management.refusing import OneLineCommand
from schedule.models import Notice
from schedule.notices.delivery import Tally
from schedule.notices.sweep import sweep
from schedule.tasks import keep_watch


class Command(OneLineCommand):
    help = (
        "Mail participants what has come out and is not mailed yet. "
        "Exit code 1 when the mail server cannot be reached."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--json", action="store_true", help="print the counts as JSON")
        parser.add_argument(
            "--later",
            action="store_true",
            help="send nothing now: only see that the worker's next sweep is queued",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        keep_watch(timezone.now())
        if options["later"]:
            return
        tally = sweep(clock=timezone.now)
        waiting = Notice.objects.filter(sent_at=None, gave_up_at=None).count()
        if options["json"]:
            report = tally.counts | {"waiting": waiting, "problem": tally.problem or None}
            self.stdout.write(json.dumps(report, indent=2))
        else:
            self.stdout.write(in_words(tally, waiting))
        if tally.problem:
            raise CommandError(f"The mail server cannot be reached: {tally.problem}")


def in_words(tally: Tally, waiting: int) -> str:
    """Return one line on what a sweep did."""
    parts = [f"{tally.sent} sent", f"{waiting} waiting"]
    if tally.given_up:
        parts.append(f"{tally.given_up} given up")
    if tally.not_wanted:
        parts.append(f"{tally.not_wanted} no longer wanted")
    return ", ".join(parts) + "."
