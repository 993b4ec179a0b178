"""Time a backup and a restore against packing and unpacking the very same bytes.

    python -m benchmarks.backup [people]

The crowd is that of benchmarks/gallery_page.py, with a photo of 200 kB for every second of them,
random bytes since photos do not pack. The yardstick is `zipfile` alone: it writes the archive's
members into another archive, packed as ours are, and reads them back with its own checksum; so
the ratio is what reading rows, their JSON, SHA-256, and filling the tables cost on top.
Runs on the database of KAL_DATABASE_URL; times are of the wall, one run each, in turn.
"""

import argparse
import os
import sys
import tempfile
import time
import zipfile
from collections.abc import Callable
from pathlib import Path

import benchmarks.site  # noqa: F401  sets Django up before its models are imported

# isort: split
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import connection
from django.test.utils import override_settings
from django.utils import timezone

from benchmarks.gallery_page import fill
from benchmarks.own_database import own_database
from kal.models import Participant
from kal.records.backup import write_backup
from kal.records.restore import restore_backup
from palettes.models import Photo

PEOPLE = 10_000
PHOTO_BYTES = 200_000
MEGABYTE = 1_000_000


def fill_photos() -> None:
    """Give every second participant a stored photo."""
    photos = []
    for participant in Participant.objects.order_by("pk")[::2]:
        photo = Photo(participant=participant, width=800, height=600)
        name = photo.image.field.generate_filename(photo, "")
        photo.image.name = default_storage.save(name, ContentFile(os.urandom(PHOTO_BYTES)))
        photos.append(photo)
    Photo.objects.bulk_create(photos, batch_size=1000)


def seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def pack_alone(archive: Path, target: Path) -> None:
    with zipfile.ZipFile(archive) as source, zipfile.ZipFile(target, "w") as packed:
        for member in source.infolist():
            packed.writestr(member.filename, source.read(member), member.compress_type)


def unpack_alone(archive: Path, target: Path) -> None:
    with zipfile.ZipFile(archive) as source:
        source.extractall(target)


def main(arguments: list[str]) -> None:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.backup")
    parser.add_argument("people", nargs="?", type=int, default=PEOPLE)
    asked = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as name, override_settings(MEDIA_ROOT=f"{name}/files"):
        folder = Path(name)
        archive = folder / "backup.zip"
        with own_database():
            fill(asked.people)
            fill_photos()
            made = []
            took = {
                "backup": seconds(
                    lambda: made.append(write_backup(archive, now=timezone.now())),
                ),
                "zipfile alone packs": seconds(lambda: pack_alone(archive, folder / "bare.zip")),
                "restore over it": seconds(
                    lambda: restore_backup(archive, replaces=True, now=timezone.now()),
                ),
                "zipfile alone unpacks": seconds(lambda: unpack_alone(archive, folder / "bare")),
            }
    (backup,) = made
    print(
        f"{asked.people} people on {connection.vendor}: {backup.rows} rows, {backup.files} files, "
        f"{backup.bytes / MEGABYTE:.0f} MB"
    )
    for what, other in (
        ("backup", "zipfile alone packs"),
        ("restore over it", "zipfile alone unpacks"),
    ):
        print(f"{other:24}{took[other]:7.1f} s   1.0")
        print(f"{what:24}{took[what]:7.1f} s   {took[what] / took[other]:.1f} times as long")


if __name__ == "__main__":
    main(sys.argv[1:])
