"""Removing what is of no more use: copies, torn uploads, people and files whose time is up."""

from dataclasses import dataclass
from datetime import datetime

from django.core.files.storage import default_storage

from kal.actions.buyers import forget_waiting
from kal.records.files import drop_strays
from kal.storage import PrivateFiles
from schedule.erasing import AT_ONCE, erase_due
from schedule.stamped import drop_stale_copies

MOST_AT_ONCE = 2_000  # our choice: a few seconds' work on disk, half a minute's in a bucket


@dataclass(frozen=True)
class Tidied:
    """What was removed: files, people whose time is up, and buyers' files never said yes to.

    `strays` are files that no row holds; `is_more` when as many as may go at once did.
    """

    copies: int
    parts: int
    strays: int
    erased: int
    imports: int
    is_more: bool


def tidy_up(*, now: datetime, most: int = MOST_AT_ONCE) -> Tidied:
    """Erase whose time is up, then remove files of no more use: stale copies up to `most`."""
    imports = forget_waiting(now=now)
    erased = erase_due(now=now)
    copies = drop_stale_copies(most=most)
    # A bucket keeps a file whole or not at all; only a disk has parts.
    storage = default_storage
    parts = storage.drop_old_parts() if isinstance(storage, PrivateFiles) else 0
    is_more = copies >= most or erased >= AT_ONCE
    return Tidied(copies, parts, drop_strays(now=now), erased, imports, is_more)
