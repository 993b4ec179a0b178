"""`manage.py restore FILE`: a backup into an empty site, or in the place of what is there."""

import dataclasses
import json
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from kal.management.refusing import OneLineCommand, refuse, refuse_file
from kal.records.errors import RecordsError
from kal.records.restore import restore_backup


class Command(OneLineCommand):
    help = "Bring a backup back. Stop the site first; docs/backup.md says how."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", type=Path, help="what `backup` has written")
        parser.add_argument(
            "--replace",
            action="store_true",
            help="in the place of all rows and files that this site has, which are lost",
        )
        parser.add_argument("--json", action="store_true", help="print the counts as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        source: Path = options["file"]
        try:
            if not source.is_file():
                raise refuse(f"There is no file {source}.")
            done = restore_backup(source, replaces=options["replace"], now=timezone.now())
        except RecordsError as refusal:
            raise refuse(str(refusal)) from None
        except OSError as error:
            raise refuse_file(source, error) from error
        if options["json"]:
            self.stdout.write(json.dumps(dataclasses.asdict(done), indent=2))
            return
        self.stdout.write(
            f"{done.rows} rows and {done.files} files are back, as they were on {done.made_at}."
        )
        for path in done.gone:
            self.stderr.write(f"{path} was missing already when the backup was made.")
