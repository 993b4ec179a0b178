"""One knit-along in open formats: a CSV for each table, JSON, and the original files.

docs/export.md describes them, and columns.csv in each export names every column.
"""

import csv
import io
import json
import secrets
import shutil
import zipfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import IO, Any, Protocol

from django.apps import apps
from django.core.files.storage import default_storage
from django.db.models import CASCADE, F, Model, QuerySet

from kal.models import KnitAlong, Participant, User
from kal.records.backup import CHUNK, ROWS_AT_ONCE
from kal.records.belongings import foreign_keys, shown_fields
from kal.records.errors import TargetTaken
from kal.records.files import files_of, holders
from kal.records.values import AnyField, as_json, prepared
from kal.spreadsheets import neutral

# Worked out of other tables, and written anew whenever those change.
LEFT_OUT = {"palettes.galleryentry"}
PERSON_COLUMNS = ("user_name", "user_email")


class Target(Protocol):
    """A folder or a zip file that is being filled."""

    def member(self, name: str) -> Any: ...


class Folder:
    def __init__(self, root: Path) -> None:
        self.root = root

    @contextmanager
    def member(self, name: str) -> Iterator[IO[bytes]]:
        path = self.root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("wb") as stream:
            yield stream


class Zip:
    def __init__(self, archive: zipfile.ZipFile) -> None:
        self.archive = archive

    @contextmanager
    def member(self, name: str) -> Iterator[IO[bytes]]:
        info = zipfile.ZipInfo(name)
        info.compress_type = zipfile.ZIP_DEFLATED
        with self.archive.open(info, "w", force_zip64=True) as stream:
            yield stream


@contextmanager
def filling(path: Path) -> Iterator[Target]:
    """Give a target that stands under its name once all is in it; TargetTaken if it is taken.

    A name that ends in .zip makes a zip file, any other a folder.
    """
    if path.is_file() or (path.is_dir() and any(path.iterdir())):
        raise TargetTaken(f"{path} is there already; name a new file or an empty folder.")
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        if path.suffix == ".zip":
            part.touch(0o600)
            with zipfile.ZipFile(part, "w") as archive:
                yield Zip(archive)
        else:
            part.mkdir(0o700)
            yield Folder(part)
            if path.is_dir():
                path.rmdir()
        part.rename(path)
    except BaseException:
        shutil.rmtree(part, ignore_errors=True)
        part.unlink(missing_ok=True)
        raise


def write_tables(target: Target, knit_along: KnitAlong) -> dict[str, int]:
    """Write a CSV for each table with rows of the knit-along, and columns.csv; count the rows."""
    counts: dict[str, int] = {}
    described: list[tuple[str, ...]] = []
    for model in tables():
        name, fields = table_name(model), shown_fields(model)
        header = [field.attname for field in fields]
        more = PERSON_COLUMNS if model is Participant else ()
        values = rows_of(model, knit_along).values_list(*header, *map(_look_up, more))
        counts[name] = write_csv(target, name, [*header, *more], _cells(values, fields))
        described.append((name, "", "", "", summary_of(model)))
        described += [(name, *column) for column in _described(fields, more)]
    write_csv(target, "columns.csv", ["file", "column", "kind", "refers_to", "meaning"], described)
    return counts


def tables() -> list[type[Model]]:
    """Return the models whose rows are parts of a knit-along, the knit-along itself first."""
    models = apps.get_models(include_auto_created=True)
    found = [
        model
        for model in models
        if path_to_knit_along(model) is not None and model._meta.label_lower not in LEFT_OUT
    ]
    return sorted(found, key=lambda model: (model is not KnitAlong, table_name(model)))


def table_name(model: type[Model]) -> str:
    return f"tables/{model._meta.label_lower}.csv"


def summary_of(model: type[Model]) -> str:
    """Return what a row of the table is, in a sentence."""
    if model._meta.auto_created:
        return "Which rows of two tables go together."
    told = (model.__doc__ or "").strip().splitlines()[0]
    # Django describes a model that says nothing of itself as "Answer(id, …)".
    return str(model._meta.verbose_name) if told.startswith(f"{model.__name__}(") else told


def rows_of(model: type[Model], knit_along: KnitAlong) -> QuerySet[Model]:
    lookup = path_to_knit_along(model) or "pk"
    return model._base_manager.filter(**{lookup: knit_along.pk}).order_by("pk")


@cache
def path_to_knit_along(model: type[Model]) -> str | None:
    """Return the look-up from a model to its knit-along; "" for that itself, None if it has none.

    The shortest, and through a row that it would go with, as every part of a knit-along has one.
    """
    if model is KnitAlong:
        return ""
    paths = []
    for key in foreign_keys(model):
        parent = key.related_model
        assert isinstance(parent, type)
        if key.remote_field.on_delete is CASCADE and parent not in (User, model):
            further = path_to_knit_along(parent)
            if further is not None:
                paths.append("__".join(filter(None, (key.name, further))))
    return min(paths, key=lambda path: path.count("__")) if paths else None


def write_csv(target: Target, name: str, header: Sequence[str], rows: Any) -> int:
    """Write rows as CSV (RFC 4180) in UTF-8 that no spreadsheet takes for formulas; count them."""
    count = 0
    with target.member(name) as stream:
        text = io.TextIOWrapper(stream, encoding="utf-8", newline="", write_through=True)
        writer = csv.writer(text)
        writer.writerow(header)
        for row in rows:
            writer.writerow([neutral(cell) for cell in row])
            count += 1
        text.detach()
    return count


def write_json(target: Target, name: str, value: object) -> None:
    with target.member(name) as stream:
        plain = json.loads(as_json(value))
        stream.write(json.dumps(plain, indent=2, ensure_ascii=False).encode())


def write_files(target: Target, knit_along: KnitAlong) -> tuple[int, list[str]]:
    """Write every original file the knit-along's rows hold; return how many, and what is gone."""
    count, gone = 0, []
    for model in holders():
        if path_to_knit_along(model) is None:
            continue
        for row in rows_of(model, knit_along).iterator(chunk_size=ROWS_AT_ONCE):
            for path in files_of(row):
                if _copy(target, path):
                    count += 1
                else:
                    gone.append(path)
    return count, gone


def _copy(target: Target, path: str) -> bool:
    try:
        source = default_storage.open(path, "rb")
    except FileNotFoundError:
        return False
    with source, target.member(f"files/{path}") as stream:
        while piece := source.read(CHUNK):
            stream.write(piece)
    return True


def _look_up(column: str) -> F:
    return F(column.replace("_", "__", 1))


def _cells(values: QuerySet[Any, Any], fields: list[AnyField]) -> Iterator[list[object]]:
    for row in values.iterator(chunk_size=ROWS_AT_ONCE):
        own = [_cell(prepared(field, value)) for field, value in zip(fields, row, strict=False)]
        yield own + list(row[len(fields) :])


def _cell(value: object) -> object:
    """Return a value as a cell: empty for none, true and false in JSON's words, lists as JSON."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Decimal):
        return float(value)  # a number, however it is signed
    if isinstance(value, int | float | str):
        return value
    if isinstance(value, list | dict):
        return as_json(value)
    text = json.loads(as_json(value))
    return text if isinstance(text, str) else as_json(value)


def _described(fields: list[AnyField], more: Sequence[str]) -> Iterator[tuple[str, ...]]:
    for field in fields:
        refers = field.related_model if field.is_relation else None
        told = table_name(refers) if isinstance(refers, type) and refers in tables() else ""
        kind = field.get_internal_type().removesuffix("Field")
        meaning = str(field.help_text or field.verbose_name)
        yield (field.attname, kind, told, meaning)
    for column in more:
        yield (column, "Char", "", f"{column.replace('_', ' ')} of the participant")
