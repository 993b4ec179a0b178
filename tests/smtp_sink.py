"""A mail server on loopback that keeps what it takes, and refuses, stalls or drops when told."""

import asyncio
import email
import email.policy
import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from email.message import EmailMessage

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session


@dataclass
class Sink:
    """Mails in the order they came; `answer` may give another reply to a mail's data.

    Or one of these: "drop" closes the connection, "stall" says nothing for `stall_for` seconds and
    then closes it, and "lose" keeps the mail and closes it, so that the sender never learns.
    """

    port: int = 0
    mails: list[EmailMessage] = field(default_factory=list)
    raw: list[bytes] = field(default_factory=list)
    connections: int = 0
    answer: Callable[[EmailMessage], str | None] = lambda mail: None
    stall_for: float = 0.0

    async def handle_EHLO(
        self,
        server: SMTP,
        session: Session,
        envelope: Envelope,
        hostname: str,
        responses: list[str],
    ) -> list[str]:
        self.connections += 1
        session.host_name = hostname
        return responses

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:
        content = envelope.content
        assert isinstance(content, bytes)
        mail = email.message_from_bytes(content, policy=email.policy.default)
        assert isinstance(mail, EmailMessage)
        reply = self.answer(mail)
        if reply is None or reply == "lose":
            self.mails.append(mail)
            self.raw.append(content)
        if reply == "stall":
            await asyncio.sleep(self.stall_for)
        if reply in ("drop", "stall", "lose"):
            if server.transport is not None:
                server.transport.close()
            await asyncio.sleep(0)
            return "421 gone"
        return reply or "250 kept"

    def told(self) -> list[str]:
        """The recipients of the kept mails, in order."""
        return [str(mail["To"]) for mail in self.mails]

    def ids_by_recipient(self) -> dict[str, set[str]]:
        """Every Message-ID under which somebody was written to, by recipient."""
        ids: dict[str, set[str]] = {}
        for mail in self.mails:
            ids.setdefault(str(mail["To"]), set()).add(str(mail["Message-ID"]))
        return ids


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def running_sink() -> Iterator[Sink]:
    sink = Sink(port=free_port())
    controller = Controller(sink, hostname="127.0.0.1", port=sink.port)
    controller.start()
    try:
        yield sink
    finally:
        controller.stop()
