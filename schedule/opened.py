"""Who has opened which revision of a clue: at most one row each, and one write at most.

Each process remembers what it has written, so a page that is opened again asks nothing.
"""

import logging
from functools import lru_cache
from uuid import UUID

from django.db import DatabaseError

from schedule.models import Opening

REMEMBERED = 50_000  # openings in a process, some megabytes; our choice, five crowds of 10,000

log = logging.getLogger(__name__)


def note_opening(participant: int, revision: UUID) -> None:
    """Store that the participant, by primary key, opened the revision with that key.

    The page is worth more than the note: a database that cannot write is logged and no more.
    """
    try:
        _write_once(participant, revision)
    except DatabaseError as error:
        log.warning("An opening of revision %s was not noted: %s", revision, error)


@lru_cache(maxsize=REMEMBERED)
def _write_once(participant: int, revision: UUID) -> None:
    Opening.objects.bulk_create(
        [Opening(participant_id=participant, revision_id=revision)], ignore_conflicts=True
    )
