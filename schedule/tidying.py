"""Keeping the private files tidy: copies nobody can be handed any more, and torn uploads."""

from dataclasses import dataclass

from django.core.files.storage import default_storage

from kal.storage import PrivateFiles
from schedule.stamped import drop_stale_copies

MOST_AT_ONCE = 2_000  # our choice: a few seconds' work on disk, half a minute's in a bucket


@dataclass(frozen=True)
class Tidied:
    """How many files were removed; `is_more` when as many as may go at once did."""

    copies: int
    parts: int
    is_more: bool


def tidy_up(*, most: int = MOST_AT_ONCE) -> Tidied:
    """Remove stale copies, up to `most`, and what processes that died had begun to write."""
    copies = drop_stale_copies(most=most)
    # A bucket keeps a file whole or not at all; only a disk has parts.
    storage = default_storage
    parts = storage.drop_old_parts() if isinstance(storage, PrivateFiles) else 0
    return Tidied(copies, parts, is_more=copies >= most)
