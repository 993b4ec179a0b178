"""Which private files the rows hold, and removing those that none holds any more.

A row holds the files of its FileFields. A model that keeps files in another way says so by a method
`stored_files`, which returns their paths.
"""

from collections.abc import Iterable, Iterator
from contextlib import suppress
from datetime import datetime, timedelta

from django.apps import apps
from django.core.files.storage import default_storage
from django.db.models import FileField, Model

# The folders whose files are rows' own. Others can be made anew (stamped copies) or have an age of
# their own (torn uploads).
FOLDERS = ("clues", "photos", "posts")
# Our choice: an upload is stored seconds before its row is committed, never a day.
OLD_STRAY = timedelta(days=1)


def holders(models: Iterable[type[Model]] | None = None) -> Iterator[type[Model]]:
    """Yield the models whose rows hold files."""
    for model in models if models is not None else apps.get_models():
        if _file_fields(model) or hasattr(model, "stored_files"):
            yield model


def files_of(row: Model) -> list[str]:
    """Return the paths of all files that a row holds."""
    named = [str(getattr(row, field.attname) or "") for field in _file_fields(type(row))]
    more = row.stored_files() if hasattr(row, "stored_files") else []
    return [path for path in (*named, *more) if path]


def held_files(models: Iterable[type[Model]] | None = None) -> Iterator[str]:
    """Yield the path of every file that a row holds now."""
    for model in holders(models):
        for row in model._base_manager.order_by("pk").iterator(chunk_size=500):
            yield from files_of(row)


def drop_files(paths: Iterable[str]) -> int:
    """Remove files, whether or not they are there; return how many were asked for."""
    count = 0
    for path in paths:
        with suppress(FileNotFoundError):
            default_storage.delete(path)
        count += 1
    return count


def drop_strays(*, now: datetime, older_than: timedelta = OLD_STRAY) -> int:
    """Remove files that no row holds, as a process that died leaves behind; return how many."""
    # Listed first: a file stored after that is younger than any that may go.
    found = [path for folder in FOLDERS for path in _below(folder)]
    strays = set(found) - set(held_files()) if found else set()
    old = [path for path in sorted(strays) if _is_older(path, now - older_than)]
    return drop_files(old)


def _is_older(path: str, instant: datetime) -> bool:
    try:
        return default_storage.get_modified_time(path) <= instant
    except FileNotFoundError:
        return False


def _below(folder: str) -> Iterator[str]:
    try:
        folders, files = default_storage.listdir(folder)
    except FileNotFoundError:
        return
    yield from (f"{folder}/{name}" for name in files)
    for name in folders:
        yield from _below(f"{folder}/{name}")


def _file_fields(model: type[Model]) -> list[FileField]:
    return [field for field in model._meta.concrete_fields if isinstance(field, FileField)]
