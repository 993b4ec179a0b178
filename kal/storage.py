"""Where private files are kept: whole or not at all, on this machine's disk."""

from __future__ import annotations

import contextlib
import os
import secrets
import time
from pathlib import Path
from typing import Any

from django.core.files import File
from django.core.files.storage import FileSystemStorage

PARTS = "parts"
OLD_PART = 24 * 60 * 60  # seconds; our choice, far longer than any file takes to write


class PrivateFiles(FileSystemStorage):
    """Files on disk that appear under their name once they are complete and safe.

    Each is written elsewhere first and then renamed (POSIX `rename` is atomic), so a process that
    dies leaves no half file under a name that anybody asks for.
    """

    def _save(self, name: str, content: File[Any]) -> str:
        part = f"{PARTS}/{secrets.token_hex(16)}"
        source, target = Path(self.path(part)), Path(self.path(name))
        try:
            super()._save(part, content)  # type: ignore[misc]  # its stubs leave it out
            target.parent.mkdir(parents=True, exist_ok=True)
            _sync(source)
            source.replace(target)
            _sync(target.parent)
        except BaseException:
            source.unlink(missing_ok=True)
            raise
        return name

    def drop_old_parts(self) -> int:
        """Remove what processes that died were writing, and return how many files that was."""
        dropped = 0
        for part in Path(self.path(PARTS)).glob("*"):
            # Another process may drop the same one.
            with contextlib.suppress(FileNotFoundError):
                if part.stat().st_mtime < time.time() - OLD_PART:
                    part.unlink()
                    dropped += 1
        return dropped


def _sync(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
