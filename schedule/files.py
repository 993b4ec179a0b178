"""From an upload to what a clue may hand out: a checked PDF, or an image drawn anew."""

import re
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import IO

from django.utils.translation import gettext as _

from palettes.errors import PhotoRefused
from palettes.photos import MAX_BYTES, read_photo, too_large
from schedule.errors import FileRefused
from schedule.models import Attachment

LONGEST_NAME = 120


@dataclass(frozen=True)
class CheckedFile:
    """A file that may be stored: its bytes are the PDF's own, or the image encoded anew."""

    kind: Attachment.Kind
    name: str
    content_type: str
    content: bytes
    width: int | None = None
    height: int | None = None


def check_file(upload: IO[bytes], name: str, size: int) -> CheckedFile:
    """Return the checked file; FileRefused with the reason when it is no PDF or image to use.

    What it is follows from its first bytes, never from its name or what the browser says.
    """
    if size > MAX_BYTES:
        raise FileRefused(too_large(size))
    upload.seek(0)  # a form may be made anew with what it was sent
    data = upload.read()
    if data.startswith(b"%PDF-") or name.lower().endswith(".pdf"):
        # Only an upload waits for pypdf, which takes long to load.
        from schedule.pdfs import check_pdf
        from schedule.stamping import stamp

        check_pdf(data)
        # Better refused now than handed out without a name.
        stamp(data, _("A participant"), _("A knit-along"))
        return CheckedFile(Attachment.Kind.PDF, tidy_name(name, ".pdf"), "application/pdf", data)
    return _check_image(data, name)


def _check_image(data: bytes, name: str) -> CheckedFile:
    try:
        picture = read_photo(data)
    except PhotoRefused as refused:
        raise FileRefused(str(refused)) from None
    return CheckedFile(
        Attachment.Kind.IMAGE,
        tidy_name(name, ".webp"),
        "image/webp",
        picture.webp,
        picture.width,
        picture.height,
    )


def tidy_name(name: str, suffix: str) -> str:
    """Return a file name without folders or control characters, ending in `suffix`."""
    stem = PurePosixPath(name.replace("\\", "/")).stem
    plain = re.sub(r"[\x00-\x1f\x7f\"<>|:*?]", "", stem).strip(" .") or "file"
    return plain[: LONGEST_NAME - len(suffix)] + suffix
