"""Bringing a backup back: looked through first, then files, then all rows in one transaction."""

import hashlib
import json
import re
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import batched
from pathlib import Path
from typing import Any

from django.apps.registry import Apps
from django.core.exceptions import ValidationError
from django.core.files.base import File
from django.core.files.storage import default_storage
from django.core.management.color import no_style
from django.db import DatabaseError, connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.models import Model

from kal.records.backup import CHUNK, FORMAT, MANIFEST, ROWS_AT_ONCE, VERSION
from kal.records.errors import DamagedBackup, NewerBackup, NotABackup, SiteNotEmpty
from kal.records.files import drop_strays
from kal.records.tables import backed_up
from kal.records.values import revived

# Paths as this site makes them, so that none leads out of the private files.
SAFE_PATH = re.compile(r"[a-z]+(/[0-9A-Za-z_-]+)*/[0-9A-Za-z_-]+(\.[0-9a-z]+)?")
LONGEST_MANIFEST = 512 * 1024 * 1024  # our choice: some 120 bytes a file, so millions of them


@dataclass(frozen=True)
class Restored:
    """What was brought back; `gone` are files that were missing when the backup was made."""

    rows: int
    files: int
    made_at: str
    gone: tuple[str, ...]


def restore_backup(source: Path, *, replaces: bool, now: datetime) -> Restored:
    """Bring back every row and file of an archive; ArchiveRefused, and nothing changed, if not.

    The rows are one transaction. Files are written before it and removed after it, so that no row
    is ever without its file; those of a restore that failed are removed as strays by the worker.
    """
    try:
        archive = zipfile.ZipFile(source)
    except zipfile.BadZipFile:
        raise NotABackup(
            f"{source} is not a whole backup: it is no zip file, or cut short."
        ) from None
    with archive:
        opened = _Opened(archive, source)
        opened.check_members()
        is_empty = not any(model._base_manager.exists() for model in backed_up().values())
        if not (is_empty or replaces):
            raise SiteNotEmpty(
                "This site has rows already; restore into an empty one, or say --replace."
            )
        with _tables_as_of(opened, is_empty=is_empty) as registry:
            files = opened.restore_files()
            rows = opened.restore_rows(backed_up(registry))
        if replaces:
            drop_strays(now=now, older_than=timedelta(0))
        manifest = opened.manifest
        return Restored(rows, files, manifest["made_at"], tuple(manifest["gone"]))


class _Opened:
    """An archive whose manifest can be read."""

    def __init__(self, archive: zipfile.ZipFile, source: Path) -> None:
        self.archive, self.source = archive, source
        self.manifest = self._read_manifest()

    def _read_manifest(self) -> dict[str, Any]:
        try:
            with self.archive.open(MANIFEST) as stream:
                manifest = json.loads(stream.read(LONGEST_MANIFEST))
        except (KeyError, ValueError, zipfile.BadZipFile, zlib.error):
            raise NotABackup(f"{self.source} holds no {MANIFEST} that can be read.") from None
        if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
            raise NotABackup(f"{self.source} is not a backup of such a site.")
        if manifest.get("version") != VERSION:
            raise NewerBackup(
                f"{self.source} is a backup of version {manifest.get('version')}, and this program "
                f"reads version {VERSION}; restore it with the release that made it."
            )
        if not {"made_at", "migrations", "tables", "members", "gone"} <= manifest.keys():
            raise DamagedBackup(f"{MANIFEST} in {self.source} is not complete.")
        return manifest

    def check_members(self) -> None:
        """DamagedBackup unless each part is there and is, to the bit, what was written."""
        names = {name for name in self.archive.namelist() if name != MANIFEST}
        wanted = self.manifest["members"].keys()
        for name in sorted(wanted ^ names):
            what = "is missing" if name in wanted else "was put in later"
            raise DamagedBackup(f"{name} {what} in {self.source}.")
        tables = {f"rows/{label}.jsonl" for label in self.manifest["tables"]}
        if tables != {name for name in names if name.startswith("rows/")}:
            raise DamagedBackup(f"{MANIFEST} in {self.source} names other tables than it holds.")
        for name, (size, digest) in self.manifest["members"].items():
            if name.startswith("files/") and not SAFE_PATH.fullmatch(name.removeprefix("files/")):
                raise DamagedBackup(f"{name!r} in {self.source} is no name of a private file.")
            seen, length = hashlib.sha256(), 0
            try:
                for piece in self._pieces(name):
                    seen.update(piece)
                    length += len(piece)
            except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError):
                seen = hashlib.sha256()
            if (length, seen.hexdigest()) != (size, digest):
                raise DamagedBackup(f"{name} in {self.source} is damaged; its checksum differs.")

    def _pieces(self, name: str) -> Iterator[bytes]:
        with self.archive.open(name) as stream:
            while piece := stream.read(CHUNK):
                yield piece

    def restore_files(self) -> int:
        """Write every private file under its own name and return how many there are."""
        names = [name for name in self.manifest["members"] if name.startswith("files/")]
        for name in names:
            path = name.removeprefix("files/")
            # A name is random and its file never changes, so one that is there is the same.
            if default_storage.exists(path):
                continue
            with self.archive.open(name) as stream:
                default_storage.save(path, File(stream, name=path))
        return len(names)

    def restore_rows(self, models: dict[str, type[Model]]) -> int:
        """Put the archive's rows in the place of all there are, in one transaction; count them."""
        tables = self.manifest["tables"]
        if unknown := sorted(tables.keys() - models.keys()):
            raise DamagedBackup(f"{self.source} holds {unknown[0]}, which its own release had not.")
        try:
            with transaction.atomic():
                # Foreign keys are checked when all is done, so the order does not matter.
                for model in models.values():
                    model._base_manager.all()._raw_delete(connection.alias)
                count = sum(self._fill(models[label], label) for label in tables)
                with connection.cursor() as cursor:
                    for line in connection.ops.sequence_reset_sql(no_style(), [*models.values()]):
                        cursor.execute(line)
        except (DatabaseError, ValidationError, ValueError, TypeError, LookupError) as error:
            reason = str(error).splitlines()[0] if str(error) else type(error).__name__
            raise DamagedBackup(
                f"The rows in {self.source} do not fit together: {reason}"
            ) from error
        return count

    def _fill(self, model: type[Model], label: str) -> int:
        meta, quote = model._meta, connection.ops.quote_name
        by_name = {field.attname: field for field in meta.concrete_fields}
        fields = [by_name[name] for name in self.manifest["tables"][label]["columns"]]
        columns = ", ".join(quote(str(field.column)) for field in fields)
        places = ", ".join("%s" for _ in fields)
        insert = f"INSERT INTO {quote(meta.db_table)} ({columns}) VALUES ({places})"
        count = 0
        with (
            self.archive.open(f"rows/{label}.jsonl") as lines,
            connection.cursor() as cursor,
        ):
            for some in batched(lines, ROWS_AT_ONCE):
                rows = [
                    [
                        field.get_db_prep_save(revived(field, value), connection)
                        for field, value in zip(fields, json.loads(line), strict=True)
                    ]
                    for line in some
                ]
                cursor.executemany(insert, rows)
                count += len(rows)
        return count


class _tables_as_of:
    """Tables as the archive's release had them while rows are brought back, then as they are now.

    Gives the models of that release. NewerBackup when it had migrations that are unknown here.
    """

    def __init__(self, opened: _Opened, *, is_empty: bool) -> None:
        executor = MigrationExecutor(connection)
        self.graph = executor.loader.graph
        then = {tuple(name.split(".", 1)) for name in opened.manifest["migrations"]}
        here = {node for node in self.graph.nodes if node in executor.loader.applied_migrations}
        # Squashed or of an app that is no longer installed: unknown all the same.
        if unknown := sorted(then - here):
            raise NewerBackup(
                f"{opened.source} was made by a newer release: it has {'.'.join(unknown[0])}, and "
                "this site has not. Upgrade and migrate first, then restore."
            )
        self.then, self.is_older = then, then < here
        if self.is_older and not is_empty:
            raise SiteNotEmpty(
                f"{opened.source} was made by an older release, so it can be restored into an "
                "empty site only."
            )

    def __enter__(self) -> Apps:
        executor = MigrationExecutor(connection)
        if self.is_older:
            executor.migrate(self._targets())
            executor = MigrationExecutor(connection)
        return executor.loader.project_state(sorted(self.then)).apps

    def __exit__(self, *error: object) -> None:
        if self.is_older:
            executor = MigrationExecutor(connection)
            executor.migrate(executor.loader.graph.leaf_nodes())

    def _targets(self) -> list[tuple[str, str | None]]:
        """Return for each app the last of its migrations that the archive's release had."""
        targets: list[tuple[str, str | None]] = []
        for app in sorted({app for app, _ in self.graph.nodes}):
            had = [node for node in self.then if node[0] == app]
            last = [
                node
                for node in had
                if not any(
                    child.key in self.then and child.key[0] == app
                    for child in self.graph.node_map[node].children
                )
            ]
            targets += last or [(app, None)]
        return targets
