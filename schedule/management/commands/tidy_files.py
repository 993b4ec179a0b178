"""`manage.py tidy_files`: the worker's daily clean-up, for cron or by hand; safe at any time."""

import dataclasses
import json
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from kal.management.refusing import OneLineCommand, refuse
from schedule.tidying import MOST_AT_ONCE, tidy_up


class Command(OneLineCommand):
    help = "Remove stamped copies that nobody can be handed any more, and torn uploads."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--json", action="store_true", help="print the counts as JSON")
        parser.add_argument(
            "--most",
            type=int,
            default=MOST_AT_ONCE,
            help=f"copies to remove at most (default: {MOST_AT_ONCE})",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["most"] < 1:
            raise refuse("--most takes a whole number from 1 up.")
        tidied = tidy_up(now=timezone.now(), most=options["most"])
        if options["json"]:
            self.stdout.write(json.dumps(dataclasses.asdict(tidied), indent=2))
            return
        self.stdout.write(
            f"{tidied.copies} stale copies, {tidied.parts} torn files and {tidied.strays} files "
            "that nothing holds removed."
        )
        if tidied.erased:
            self.stdout.write(f"{tidied.erased} people erased whose time was up.")
        if tidied.imports:
            self.stdout.write(f"{tidied.imports} buyers' files deleted that nobody said yes to.")
        if tidied.is_more:
            self.stdout.write("There may be more: run it again.")
