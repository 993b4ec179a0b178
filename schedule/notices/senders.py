"""A few threads, each with one mail connection that it keeps open; they know no database.

While they wait for the mail server, the process that started them words the next mails.
"""

import contextlib
import sys
from dataclasses import dataclass
from datetime import datetime
from queue import Empty, SimpleQueue
from threading import Lock, Thread
from types import TracebackType
from typing import Self

from django.core.mail import mailers
from django.core.mail.backends.base import BaseEmailBackend
from django.utils import timezone

from schedule.models import Notice
from schedule.notices.emails import NoticeMail

# Seconds for which one thread may keep the others from the interpreter. The usual 5 ms are as long
# as several mails take, and each answer of the server would wait for as much of the wording.
SWITCH_EVERY = 0.0005


@dataclass(frozen=True)
class Outcome:
    """What became of one mail: `error` is None when the server took it.

    `is_tried` is False when the server could not be reached, or it was too late to begin.
    """

    notice: Notice
    error: Exception | None = None
    is_tried: bool = True


type Order = tuple[Notice, NoticeMail, datetime]


class Senders:
    """Send mails over `count` connections at most; one not begun by its own time is not sent.

    A server that refuses a further connection while it serves another is sent to over fewer.
    """

    def __init__(self, count: int) -> None:
        self._orders: SimpleQueue[Order | None] = SimpleQueue()
        self._outcomes: SimpleQueue[Outcome] = SimpleQueue()
        self._threads = [Thread(target=self._work, daemon=True) for _ in range(max(1, count))]
        self._opening = Lock()
        self._open: set[BaseEmailBackend] = set()
        self._is_away = False

    def __enter__(self) -> Self:
        self._switched_every = sys.getswitchinterval()
        sys.setswitchinterval(SWITCH_EVERY)
        for thread in self._threads:
            thread.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        for _ in self._threads:
            self._orders.put(None)
        for thread in self._threads:
            thread.join()
        sys.setswitchinterval(self._switched_every)

    def send(self, notice: Notice, mail: NoticeMail, *, begin_by: datetime) -> None:
        self._orders.put((notice, mail, begin_by))

    def outcome(self, *, within: float) -> Outcome | None:
        """Return what became of one of the mails, None if nothing is known in so many seconds."""
        try:
            return self._outcomes.get(timeout=within)
        except Empty:
            return None

    def _work(self) -> None:
        connection = mailers.default
        while order := self._orders.get():
            notice, mail, begin_by = order
            if self._is_away or timezone.now() >= begin_by:
                self._outcomes.put(Outcome(notice, is_tried=False))
            elif (problem := self._opened(connection)) is None:
                self._outcomes.put(self._send(connection, notice, mail))
            elif self._open:
                self._orders.put(order)  # for those that are connected
                return
            else:
                self._is_away = True
                self._outcomes.put(Outcome(notice, problem, is_tried=False))
        self._close(connection)

    def _opened(self, connection: BaseEmailBackend) -> OSError | None:
        """Open the connection unless it is; return why it cannot be."""
        with self._opening:
            try:
                connection.open()
            except OSError as problem:
                return problem
            self._open.add(connection)
        return None

    def _send(self, connection: BaseEmailBackend, notice: Notice, mail: NoticeMail) -> Outcome:
        try:
            connection.send_messages([mail])
        except Exception as error:
            # After a broken exchange the connection cannot be trusted with the next mail.
            self._close(connection)
            return Outcome(notice, error)
        return Outcome(notice)

    def _close(self, connection: BaseEmailBackend) -> None:
        self._open.discard(connection)
        # A server that has gone away cannot be said goodbye to.
        with contextlib.suppress(OSError):
            connection.close()
