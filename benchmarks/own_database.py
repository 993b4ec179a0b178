"""A database of a benchmark's own, on the database server of KAL_DATABASE_URL."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from django.db import connection


@contextmanager
def own_database(kept_as: str = "") -> Iterator[None]:
    """Make an empty database for the benchmark, on SQLite a file, and remove it afterwards.

    One that is to be kept may have been filled already, and stays.
    """
    before = settings.DATABASES["default"]["NAME"]
    with tempfile.TemporaryDirectory() as folder:
        name = f"benchmark_{os.getpid()}"
        on_disk = str(Path(folder) / name)
        connection.settings_dict["TEST"]["NAME"] = kept_as or (
            on_disk if connection.vendor == "sqlite" else name
        )
        connection.creation.create_test_db(verbosity=0, keepdb=bool(kept_as))
        try:
            yield
        finally:
            connection.creation.destroy_test_db(before, verbosity=0, keepdb=bool(kept_as))
