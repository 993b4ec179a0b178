"""`manage.py export_knitalong KNITALONG TARGET`: one knit-along in open formats."""

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from kal.management.refusing import OneLineCommand, refuse, refuse_file
from kal.models import KnitAlong
from kal.records.errors import RecordsError
from kal.records.open_export import filling, write_files, write_json, write_tables
from kal.records.tables import snapshot
from schedule.drafts import draft_of_revision
from schedule.management.commands.list_releases import find
from schedule.models import Attachment, Clue, Revision


class Command(OneLineCommand):
    help = "Write one knit-along as CSV, JSON and its original files: docs/export.md has them all."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("knit_along", metavar="KNITALONG", help="the name in its address")
        parser.add_argument(
            "target", metavar="TARGET", type=Path, help="a new folder, or a file that ends in .zip"
        )
        parser.add_argument("--json", action="store_true", help="print the counts as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        target: Path = options["target"]
        knit_along = find(options["knit_along"])
        try:
            if not target.parent.is_dir():
                raise refuse(f"There is no folder {target.parent}.")
            with filling(target) as filled, snapshot():
                tables = write_tables(filled, knit_along)
                write_json(filled, "knit-along.json", described(knit_along))
                write_json(filled, "clues.json", [clue_in_full(one) for one in clues(knit_along)])
                files, gone = write_files(filled, knit_along)
        except RecordsError as refusal:
            raise refuse(str(refusal)) from None
        except OSError as error:
            raise refuse_file(target, error) from error
        rows = sum(tables.values())
        if options["json"]:
            report = {"rows": rows, "files": files, "gone": gone, "tables": tables}
            self.stdout.write(json.dumps(report, indent=2))
            return
        self.stdout.write(f"{target}: {rows} rows in {len(tables)} tables, and {files} files.")
        for path in gone:
            self.stderr.write(f"A row names {path}, which is not there.")


def described(knit_along: KnitAlong) -> dict[str, object]:
    """Return the knit-along's facts, what each letter needs, and its glossary."""
    own = ("slug", "title", "theme", "zone", "colour_count", "clue_count", "cadence_days")
    gauge = ("yarn_weight", "needle_mm", "gauge_stitches", "gauge_rows")
    times = ("sign_up_opens_at", "sign_up_closes_at", "cast_on_at", "archived_at")
    facts = {name: getattr(knit_along, name) for name in (*own, *gauge, *times, "join_rule")}
    needs = {
        need.letter: {"grams": need.grams, "metres": need.metres} for need in knit_along.needs.all()
    }
    glossary = {entry.short: entry.meaning for entry in knit_along.glossary.all()}
    return facts | {"needs": needs, "glossary": glossary}


def clues(knit_along: KnitAlong) -> list[Clue]:
    return list(knit_along.clues.order_by("number"))


def clue_in_full(clue: Clue) -> dict[str, object]:
    """Return a clue with every revision it had, oldest first."""
    return {
        "number": clue.number,
        "title": clue.title,
        "title_is_secret": clue.title_is_secret,
        "release_at": clue.release_at,
        "ready_at": clue.ready_at,
        "is_held": clue.is_held,
        "revisions": [revision_in_full(one) for one in clue.revisions.order_by("number")],
    }


def revision_in_full(revision: Revision) -> dict[str, object]:
    """Return what a revision holds as its draft, with files by where this export has them."""
    draft = asdict(draft_of_revision(revision))
    del draft["attachments"], draft["descriptions"], draft["title_is_secret"]
    files = [file_in_full(revision, file) for file in revision.attachments.all()]
    number = {"number": revision.number, "saved_at": revision.saved_at}
    return number | draft | {"note": revision.note, "files": files}


def file_in_full(revision: Revision, file: Attachment) -> dict[str, object]:
    return {
        "name": file.name,
        "path": f"files/{file.file.name}",
        "content_type": file.content_type,
        "shows": revision.description_of(file),
    }
