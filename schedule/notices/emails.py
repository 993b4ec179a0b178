"""The mail of one notice: its bytes, and the headers that let a person stop such mail."""

import binascii
import email
import re
import secrets
from collections.abc import Mapping
from email.message import EmailMessage, Message
from email.policy import SMTP, Policy
from email.policy import default as default_policy
from email.utils import format_datetime
from functools import lru_cache
from urllib.parse import quote

from django.core.mail import EmailMultiAlternatives
from django.core.signing import BadSignature, Signer
from django.urls import reverse
from django.utils import timezone

from kal.addresses import absolute
from kal.languages import speaking_to
from schedule.models import Notice
from schedule.notices.wording import Wordings, values_for

_signer = Signer(salt="schedule.unsubscribe")
# As long as RFC 5322, 2.1.1 allows. With the usual 78, Python codes an address that does not fit
# (=?utf-8?q?…?=), and no mail program finds a link in that.
LONG_LINES = SMTP.clone(max_line_length=998)
# An address that needs neither quoting nor coding: the dot-atom of RFC 5322, 3.4.1, in ASCII.
ATOM = r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+"
PLAIN_ADDRESS = re.compile(rf"{ATOM}(\.{ATOM})*@[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)*")


class NoticeMail(EmailMultiAlternatives):
    """A mail of text and HTML that is put into bytes without Python's mail generator.

    The generator takes longer for one mail than a server takes to accept it. `message`, which other
    backends than SMTP ask for, is read back from the same bytes.
    """

    def as_bytes(self) -> bytes:
        """Return the mail as it is sent (RFC 5322, RFC 2046 5.1.4), with CRLF."""
        boundary = secrets.token_hex(16)
        (html, _), *_ = self.alternatives
        head = {
            "Subject": self.subject,
            "From": self.from_email,
            "To": ", ".join(self.to),
            **self.extra_headers,
        }
        lines = b"".join(_header(name, str(value)) for name, value in head.items())
        date = format_datetime(timezone.now()).encode()
        return (
            lines
            + b"Date: %b\r\nMIME-Version: 1.0\r\n" % date
            + b'Content-Type: multipart/alternative; boundary="%b"\r\n' % boundary.encode()
            + _part("plain", str(self.body), boundary)
            + _part("html", str(html), boundary)
            + b"\r\n--%b--\r\n" % boundary.encode()
        )

    def message(self, *, policy: "Policy[Message] | None" = None) -> EmailMessage:
        content = self.as_bytes().replace(b"\r\n", b"\n")
        made = email.message_from_bytes(content, policy=policy or default_policy)
        assert isinstance(made, EmailMessage)
        return made


def _header(name: str, value: str) -> bytes:
    if name == "To" and PLAIN_ADDRESS.fullmatch(value):
        return f"To: {value}\r\n".encode()
    if name in ("Subject", "From", "To"):
        return _coded_header(name, value)
    if "\r" in value or "\n" in value:
        raise ValueError(f"The header {name} cannot hold a line break.")
    return f"{name}: {value}\r\n".encode("ascii")


@lru_cache(maxsize=256)
def _coded_header(name: str, value: str) -> bytes:
    """Return a header that may hold any words; most are the same in a whole fan-out."""
    head = EmailMessage(policy=LONG_LINES)
    head[name] = value
    return head.as_bytes().removesuffix(b"\r\n")


def _part(subtype: str, text: str, boundary: str) -> bytes:
    """Return one part, quoted-printable so that any server takes it (RFC 2045, 6.7)."""
    crlf = "\r\n".join(text.splitlines()) + "\r\n"
    coded = binascii.b2a_qp(crlf.encode(), istext=True)
    return (
        f'\r\n--{boundary}\r\nContent-Type: text/{subtype}; charset="utf-8"\r\n'
        "Content-Transfer-Encoding: quoted-printable\r\n\r\n"
    ).encode() + coded


def notice_email(notice: Notice, wordings: Wordings | None = None) -> NoticeMail:
    """Return the mail of one notice, loaded `for_mail`; its Message-ID is the ledger's."""
    participant = notice.participant
    stop = _stop_url(notice) if notice.of_kind.obeys_wish else ""
    with speaking_to(participant.user):
        words = (wordings or Wordings()).of(notice).filled(values_for(notice, stop))
    mail = NoticeMail(
        subject=words.subject,
        body=words.text,
        to=[participant.user.email],
        headers={
            "Message-ID": notice.mail_id,
            "Auto-Submitted": "auto-generated",
            **_ways_to_stop(stop),
        },
    )
    mail.attach_alternative(words.html, "text/html")
    return mail


def _stop_url(notice: Notice) -> str:
    before, after = _around_token(notice.participant.knit_along.slug)
    token = unsubscribe_token(notice.participant_id)
    return absolute(f"{before}{quote(token, safe=':')}{after}")


@lru_cache(maxsize=64)
def _around_token(slug: str) -> tuple[str, str]:
    """Return the address of unsubscribing without its token, which differs in every mail."""
    before, _, after = reverse("schedule:unsubscribe", args=[slug, "TOKEN"]).partition("TOKEN")
    return before, after


def _ways_to_stop(url: str) -> Mapping[str, str]:
    """Return the headers by which one click in the reader's mail program stops it (RFC 8058)."""
    if not url:
        return {}
    return {
        "List-Unsubscribe": f"<{url}>",
        "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
    }


def unsubscribe_token(participant: int) -> str:
    """Return the signed token that turns one participant's mail off, and does nothing else."""
    return _signer.sign(str(participant))


def participant_of(token: str) -> int | None:
    """Return the participant a token was signed for, or None when it is not one of ours."""
    try:
        return int(_signer.unsign(token))
    except (BadSignature, ValueError):
        return None
