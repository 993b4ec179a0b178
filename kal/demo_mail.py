"""Mail of the demo: printed to the terminal, kept in a folder, delivered to nobody."""

import email
import os
import secrets
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from email import policy
from email.message import EmailMessage as Parsed
from email.utils import parsedate_to_datetime
from pathlib import Path

from django.conf import settings
from django.core.mail import EmailMessage
from django.core.mail.backends.base import BaseEmailBackend
from django.utils import timezone

MOST_KEPT = 500  # our choice: a demo needs no more, and the folder stays small


@dataclass(frozen=True)
class KeptMail:
    """One mail as the demo's page shows it."""

    to: str
    subject: str
    body: str
    sent_at: datetime | None


class DemoMailBackend(BaseEmailBackend):
    """Django's mail backend of the demo."""

    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        for message in email_messages:
            print_mail(message)
            keep_mail(message)
        drop_oldest()
        return len(email_messages)


def print_mail(message: EmailMessage) -> None:
    lines = f"To: {', '.join(message.to)}\nSubject: {message.subject}\n\n{message.body}"
    sys.stdout.write(f"\n{'-' * 64}\n{lines.rstrip()}\n{'-' * 64}\n")
    sys.stdout.flush()


def keep_mail(message: EmailMessage) -> None:
    folder = Path(settings.DEMO_MAIL_DIR)
    folder.mkdir(parents=True, exist_ok=True)
    name = f"{timezone.now():%Y%m%dT%H%M%S%f}-{secrets.token_hex(4)}"
    unfinished = folder / f"{name}.part"
    unfinished.write_bytes(message.message().as_bytes())
    os.replace(unfinished, folder / f"{name}.eml")


def drop_oldest() -> None:
    for path in newest_first()[MOST_KEPT:]:
        path.unlink(missing_ok=True)


def newest_first() -> list[Path]:
    return sorted(Path(settings.DEMO_MAIL_DIR).glob("*.eml"), reverse=True)


def kept_mails(count: int) -> Iterator[KeptMail]:
    """Yield the newest `count` mails, newest first."""
    for path in newest_first()[:count]:
        yield read_mail(email.message_from_bytes(path.read_bytes(), policy=policy.default))


def read_mail(parsed: Parsed) -> KeptMail:
    text = parsed.get_body(("plain",))
    date = parsed["Date"]
    return KeptMail(
        to=str(parsed["To"]),
        subject=str(parsed["Subject"]),
        body=str(text.get_content()) if text else "",
        sent_at=parsedate_to_datetime(date) if date else None,
    )
