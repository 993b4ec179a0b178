"""`manage.py backup FILE`: every row and private file in one archive, while the site runs."""

import dataclasses
import json
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from kal.management.refusing import OneLineCommand, refuse, refuse_file
from kal.records.backup import write_backup
from kal.records.errors import RecordsError


class Command(OneLineCommand):
    help = "Write a backup of the whole site: docs/backup.md says what is in it."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", type=Path, help="where to write it")
        parser.add_argument("--replace", action="store_true", help="write over an older file")
        parser.add_argument("--json", action="store_true", help="print the counts as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        target: Path = options["file"]
        try:
            if not target.parent.is_dir():
                raise refuse(f"There is no folder {target.parent}.")
            if target.is_dir():
                raise refuse(f"{target} is a folder; name a file.")
            made = write_backup(target, now=timezone.now(), replaces=options["replace"])
        except RecordsError as refusal:
            raise refuse(str(refusal)) from None
        except OSError as error:
            raise refuse_file(target, error) from error
        if options["json"]:
            self.stdout.write(json.dumps(dataclasses.asdict(made), indent=2))
            return
        self.stdout.write(
            f"{target}: {made.rows} rows and {made.files} files, {made.bytes:,} bytes."
        )
        for path in made.gone:
            self.stderr.write(f"A row names {path}, which is not there.")
