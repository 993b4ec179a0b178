"""Writing a backup: every row and every private file, in one archive with checksums.

docs/backup.md describes the archive.
"""

import hashlib
import os
import secrets
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO, Any

from django.core.files.storage import default_storage
from django.db.models import Model

from kal.records.errors import TargetTaken
from kal.records.files import held_files
from kal.records.tables import applied_migrations, backed_up, snapshot
from kal.records.values import as_json, prepared, stored_fields

FORMAT, VERSION = "knit-along backup", 1
MANIFEST = "manifest.json"
CHUNK = 1024 * 1024
ROWS_AT_ONCE = 500
READINGS = 3  # our choice: where files are removed all the while, the last has to do


@dataclass(frozen=True)
class Backup:
    """What was written. `gone` are files that rows name and that are not there."""

    rows: int
    files: int
    bytes: int
    gone: tuple[str, ...]


def write_backup(target: Path, *, now: datetime, replaces: bool = False) -> Backup:
    """Write the archive, whole or not at all; TargetTaken when there is a file of that name.

    A file may be removed after the rows were read; then all is read once more, and what is gone
    still was gone before, or went in the last of a few readings, and is named in the archive.
    """
    if target.exists() and not replaces:
        raise TargetTaken(f"{target} is there already; choose another name.")
    missing: set[str] = set()
    for reading in range(READINGS):
        part = target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")
        try:
            backup = _write(part, now)
            if set(backup.gone) <= missing or reading == READINGS - 1:
                part.replace(target)
                return backup
        finally:
            part.unlink(missing_ok=True)
        missing = set(backup.gone)
    raise AssertionError("The last reading is always kept.")


def _write(part: Path, now: datetime) -> Backup:
    # It holds everybody's data, so nobody but its owner may read it from its first byte on.
    descriptor = os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600)
    with os.fdopen(descriptor, "w+b") as stream:
        with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive, snapshot():
            writer = _Writer(archive)
            tables = {label: writer.table(label, model) for label, model in backed_up().items()}
            gone = [path for path in sorted(set(held_files())) if not writer.file(path)]
            manifest = {
                "format": FORMAT,
                "version": VERSION,
                "made_at": now.isoformat(),
                "migrations": applied_migrations(),
                "tables": tables,
                "members": writer.members,
                "gone": gone,
            }
            archive.writestr(MANIFEST, as_json(manifest))
        stream.flush()
        os.fsync(stream.fileno())
        size = stream.seek(0, os.SEEK_END)
    rows = sum(table["rows"] for table in tables.values())
    return Backup(rows, writer.files, size, tuple(gone))


class _Writer:
    """Puts tables and files into an archive and keeps the checksum of each."""

    def __init__(self, archive: zipfile.ZipFile) -> None:
        self.archive = archive
        self.members: dict[str, list[Any]] = {}
        self.files = 0

    def table(self, label: str, model: type[Model]) -> dict[str, Any]:
        """Write the rows of a model, a line of JSON each, and return their columns and number."""
        fields = stored_fields(model)
        names = [field.attname for field in fields]
        rows = model._base_manager.order_by("pk").values_list(*names)
        count = 0
        with self.member(f"rows/{label}.jsonl") as write:
            for row in rows.iterator(chunk_size=ROWS_AT_ONCE):
                values = map(prepared, fields, row)
                write(f"{as_json(list(values))}\n".encode())
                count += 1
        return {"columns": names, "rows": count}

    def file(self, path: str) -> bool:
        """Write a private file; False when it is not there."""
        try:
            source = default_storage.open(path, "rb")
        except FileNotFoundError:
            return False
        with source, self.member(f"files/{path}", zipfile.ZIP_STORED) as write:
            while piece := source.read(CHUNK):
                write(piece)
        self.files += 1
        return True

    @contextmanager
    def member(self, name: str, packing: int = zipfile.ZIP_DEFLATED) -> Iterator[Any]:
        """Give a function that writes bytes into the archive under this name."""
        info = zipfile.ZipInfo(name)
        info.compress_type = packing
        info.external_attr = 0o600 << 16
        digest, size = hashlib.sha256(), 0
        stream: IO[bytes]
        with self.archive.open(info, "w", force_zip64=True) as stream:

            def write(piece: bytes) -> None:
                nonlocal size
                digest.update(piece)
                size += len(piece)
                stream.write(piece)

            yield write
        self.members[name] = [size, digest.hexdigest()]
