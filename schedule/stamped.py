"""Participants' own copies of PDFs: made when somebody first asks, kept, and dropped when stale.

A copy is stamped/<attachment key>/<participant>-<digest>, where the digest is of all that is
printed on it. So another name, title or look of the stamp is another copy, and one that exists is
right. Two processes that make the same copy at once write the same bytes under the same name.
"""

import hashlib
import logging
import threading
from collections.abc import Iterable
from uuid import UUID

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from kal.metrics import count_stamped
from kal.models import KnitAlong, Participant
from kal.private_files import PrivateFile
from schedule.errors import FileRefused
from schedule.models import Attachment

FOLDER = "stamped"
VERSION = 1  # counts up with each change of what stamping.py prints, so that copies are made anew
log = logging.getLogger(__name__)
# Stamping is pure Python: two at once in a process are no faster and take twice the memory.
one_at_a_time = threading.Lock()


def file_for(attachment: Attachment, participant: Participant) -> PrivateFile:
    """Return what this participant is handed: a PDF with their name on it, anything else as it is.

    A PDF that cannot be stamped is handed out without, and the log says so: their clue counts more.
    """
    is_pdf = attachment.kind == Attachment.Kind.PDF
    path, tag = str(attachment.file.name), attachment.key.hex
    if is_pdf:
        copy = copy_path(attachment.key, participant)
        try:
            is_new = make_copy(copy, attachment, participant)
        except FileRefused as refused:
            count_stamped("failed")
            log.error("Attachment %s is handed out without a stamp: %s", attachment.pk, refused)
        else:
            count_stamped("made" if is_new else "kept")
            path, tag = copy, copy.rpartition("-")[2]
    return PrivateFile(path, attachment.name, attachment.content_type, tag, is_download=is_pdf)


def copy_path(attachment: UUID, participant: Participant) -> str:
    """Return where the copy of the attachment with that key is kept, whether or not it is made."""
    return f"{FOLDER}/{attachment.hex}/{copy_name(attachment, participant)}"


def copy_name(attachment: UUID, participant: Participant) -> str:
    """Return the last part of that path."""
    printed = (attachment.hex, str(VERSION), *_names(participant))
    digest = hashlib.sha256("\0".join(printed).encode()).hexdigest()[:32]
    return f"{participant.pk}-{digest}"


def _names(participant: Participant) -> tuple[str, str]:
    return str(participant.user), participant.knit_along.title


def make_copy(path: str, attachment: Attachment, participant: Participant) -> bool:
    """Make the copy unless it is there, and return whether it was made.

    FileRefused when the PDF cannot be read.
    """
    if default_storage.exists(path):
        return False
    from schedule import stamping  # with pypdf, which takes long to load; a kept copy needs neither

    with one_at_a_time:
        if default_storage.exists(path):
            return False
        with attachment.file.open("rb") as original:
            data = original.read()
        default_storage.save(path, ContentFile(stamping.stamp(data, *_names(participant))))
    return True


def drop_stale_copies(*, most: int) -> int:
    """Remove up to `most` copies that nobody can be handed any more; return how many.

    Stale are those of files that the newest revision of a clue does not show, of people who have
    left, of archived knit-alongs, and those with a name, title or stamp of before. A copy dropped
    too soon is made again.
    """
    dropped = 0
    for key in _listed(FOLDER)[0]:
        folder = f"{FOLDER}/{key}"
        stale = sorted(set(_listed(folder)[1]) - _current(key))
        for name in stale[: most - dropped]:
            default_storage.delete(f"{folder}/{name}")
            dropped += 1
    return dropped


def drop_copies_of(participant: Participant) -> int:
    """Remove every copy with this participant's name on it; return how many."""
    return _drop_copies(participant.knit_along_id, f"{participant.pk}-")


def drop_copies_in(knit_along: KnitAlong) -> int:
    """Remove every copy of the knit-along's files; return how many."""
    return _drop_copies(knit_along.pk)


def _drop_copies(knit_along: int, beginning: str = "") -> int:
    """Remove the copies of the knit-along's files whose names begin so; return how many."""
    dropped = 0
    for key in Attachment.objects.filter(clue__knit_along=knit_along).values_list("key", flat=True):
        folder = f"{FOLDER}/{key.hex}"
        for name in _listed(folder)[1]:
            if name.startswith(beginning):
                default_storage.delete(f"{folder}/{name}")
                dropped += 1
    return dropped


def _current(key: str) -> set[str]:
    """Return the names of all copies of a file that are of use, made or not."""
    try:
        attachment = Attachment.objects.in_newest_revision().select_related("clue").get(key=key)
    except (Attachment.DoesNotExist, ValidationError):
        return set()
    people = Participant.objects.active().filter(
        knit_along=attachment.clue.knit_along_id, knit_along__archived_at=None
    )
    return set(_copy_names(attachment, people.select_related("user", "knit_along").iterator()))


def _copy_names(attachment: Attachment, people: Iterable[Participant]) -> Iterable[str]:
    return (copy_name(attachment.key, person) for person in people)


def _listed(folder: str) -> tuple[list[str], list[str]]:
    """Return the folders and files in a folder, none where it does not exist."""
    try:
        return default_storage.listdir(folder)
    except FileNotFoundError:
        return [], []
