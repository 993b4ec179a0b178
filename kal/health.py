"""Can this process do its work: database, cache, storage, and is a worker about?"""

import logging
import secrets
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from threading import Lock

from django.core.cache import cache
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import connection
from django.db.models import Max
from django_tasks_db.models import DBTaskResult

from kal.storage import PARTS, PrivateFiles

OK = "ok"
# Anybody may ask, so what was found is said again for a while; our choice.
SAY_AGAIN = 5.0  # seconds
# A worker sweeps every minute; our choice: several missed in a row are no mere delay.
WORKER_LATE = timedelta(minutes=5)
log = logging.getLogger(__name__)


def check_database() -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")


def check_cache() -> None:
    key, value = f"health-{secrets.token_hex(4)}", secrets.token_hex(4)
    cache.set(key, value, 60)
    if cache.get(key) != value:
        raise OSError("The cache forgets at once.")
    cache.delete(key)


def check_storage() -> None:
    """Write a file and remove it, on a disk; in a bucket ask for one, which costs less."""
    name = f"{PARTS}/health-{secrets.token_hex(8)}"
    if not isinstance(default_storage, PrivateFiles):
        default_storage.exists(name)
        return
    default_storage.delete(default_storage.save(name, ContentFile(b"ok")))


def last_errand() -> datetime | None:
    """Return when a worker last finished something, however it went."""
    finished: datetime | None = DBTaskResult.objects.aggregate(at=Max("finished_at"))["at"]
    return finished


def check_worker(now: datetime) -> None:
    finished = last_errand()
    if finished is None or finished < now - WORKER_LATE:
        raise TimeoutError("No worker has finished anything lately.")


def state_of(check: Callable[[], None], name: str) -> str:
    """Return "ok" or "fails"; why is in the log, and no business of whoever asks."""
    try:
        check()
    except Exception:
        log.exception("The health check of the %s fails", name)
        return "fails"
    return OK


class Readiness:
    """The state of all that answering takes, found anew at most every few seconds."""

    CHECKS = {"database": check_database, "cache": check_cache, "storage": check_storage}

    def __init__(self) -> None:
        self.lock = Lock()
        self.forget()

    def forget(self) -> None:
        self.found: dict[str, str] = {}
        self.until = 0.0

    def look(self) -> dict[str, str]:
        with self.lock:
            if time.monotonic() >= self.until:
                self.found = {name: state_of(check, name) for name, check in self.CHECKS.items()}
                self.until = time.monotonic() + SAY_AGAIN
            return self.found


readiness = Readiness()
