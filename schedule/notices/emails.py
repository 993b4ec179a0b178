"""The words of a notice: subject, text and HTML, and the headers that let a person stop them."""

import re
from collections.abc import Mapping
from email.message import EmailMessage, Message
from email.policy import Policy
from email.policy import default as default_policy

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.core.signing import BadSignature, Signer
from django.template.loader import render_to_string
from django.urls import reverse

from schedule.models import Notice, Revision
from schedule.notices.kinds import ERRATA

_signer = Signer(salt="schedule.unsubscribe")
MERGED = re.compile(r"\{(\w+)\}")


class LongLineMail(EmailMultiAlternatives):
    """A mail whose header lines may be as long as RFC 5322, 2.1.1 allows: 998 characters.

    With the usual 78, Python codes an address that does not fit (=?utf-8?q?…?=), and no mail
    program finds a link in that.
    """

    def message(self, *, policy: "Policy[Message] | None" = None) -> EmailMessage:
        return super().message(policy=(policy or default_policy).clone(max_line_length=998))


def notice_email(notice: Notice) -> EmailMultiAlternatives:
    """Return the mail of one notice, loaded `for_mail`; its Message-ID is the ledger's."""
    stem = notice.of_kind.templates
    context = _context(notice)
    subject = " ".join(render_to_string(f"{stem}_subject.txt", context).split())
    mail = LongLineMail(
        subject=subject,
        body=render_to_string(f"{stem}_body.txt", context),
        to=[notice.participant.user.email],
        headers={
            "Message-ID": notice.mail_id,
            "Auto-Submitted": "auto-generated",
            **_ways_to_stop(context),
        },
    )
    mail.attach_alternative(render_to_string(f"{stem}_body.html", context), "text/html")
    return mail


def _ways_to_stop(context: Mapping[str, object]) -> dict[str, str]:
    """Return the headers by which one click in the reader's mail program stops it (RFC 8058)."""
    if not context["unsubscribe_url"]:
        return {}
    return {
        "List-Unsubscribe": f"<{context['unsubscribe_url']}>",
        "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
    }


def _context(notice: Notice) -> dict[str, object]:
    kind, participant = notice.of_kind, notice.participant
    slug = participant.knit_along.slug
    about = _about_clue(notice, slug) if notice.clue else _about_message(notice)
    token = unsubscribe_token(participant.pk)
    stop = _absolute(reverse("schedule:unsubscribe", args=[slug, token]))
    return about | {
        "knit_along": participant.knit_along,
        "reader": participant.user,
        "reason": kind.reason,
        "unsubscribe_url": stop if kind.obeys_wish else "",
    }


def _about_clue(notice: Notice, slug: str) -> dict[str, object]:
    clue = notice.clue
    assert clue is not None
    note = ""
    if notice.kind == ERRATA.name:
        note = Revision.objects.get(clue=clue, number=notice.revision).note
    url = _absolute(reverse("schedule:clue", args=[slug, clue.number]))
    return {"clue": clue, "note": note, "clue_url": url}


def _about_message(notice: Notice) -> dict[str, object]:
    message = notice.message
    assert message is not None
    return {
        "subject": merged(message.subject, notice.merge),
        "body": merged(message.body, notice.merge),
        "url": _absolute(message.path) if message.path else "",
    }


def merged(text: str, values: Mapping[str, str]) -> str:
    """Return the text with `{name}` replaced where there is a value for it, else left as it is."""
    return MERGED.sub(lambda found: str(values.get(found[1], found[0])), text)


def _absolute(path: str) -> str:
    return f"{settings.BASE_URL}{path}"


def unsubscribe_token(participant: int) -> str:
    """Return the signed token that turns one participant's mail off, and does nothing else."""
    return _signer.sign(str(participant))


def participant_of(token: str) -> int | None:
    """Return the participant a token was signed for, or None when it is not one of ours."""
    try:
        return int(_signer.unsign(token))
    except (BadSignature, ValueError):
        return None
