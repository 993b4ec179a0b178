"""The words of a notice: subject, text and HTML, and the headers that let a person stop them."""

from email.message import EmailMessage, Message
from email.policy import Policy
from email.policy import default as default_policy

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.core.signing import BadSignature, Signer
from django.template.loader import render_to_string
from django.urls import reverse

from schedule.models import Notice, Revision

_signer = Signer(salt="schedule.unsubscribe")

TEMPLATES = {
    Notice.Event.CLUE_OUT: "emails/clue_out",
    Notice.Event.ERRATA: "emails/errata",
}


class LongLineMail(EmailMultiAlternatives):
    """A mail whose header lines may be as long as RFC 5322, 2.1.1 allows: 998 characters.

    With the usual 78, Python codes an address that does not fit (=?utf-8?q?…?=), and no mail
    program finds a link in that.
    """

    def message(self, *, policy: "Policy[Message] | None" = None) -> EmailMessage:
        return super().message(policy=(policy or default_policy).clone(max_line_length=998))


def notice_email(notice: Notice) -> EmailMultiAlternatives:
    """Return the mail of one notice, loaded `for_mail`; its Message-ID is the ledger's."""
    stem = TEMPLATES[Notice.Event(notice.event)]
    context = _context(notice)
    subject = " ".join(render_to_string(f"{stem}_subject.txt", context).split())
    mail = LongLineMail(
        subject=subject,
        body=render_to_string(f"{stem}_body.txt", context),
        to=[notice.participant.user.email],
        headers={
            "Message-ID": notice.message_id,
            # One click in the reader's own mail program is enough (RFC 8058).
            "List-Unsubscribe": f"<{context['unsubscribe_url']}>",
            "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
            "Auto-Submitted": "auto-generated",
        },
    )
    mail.attach_alternative(render_to_string(f"{stem}_body.html", context), "text/html")
    return mail


def _context(notice: Notice) -> dict[str, object]:
    slug = notice.clue.knit_along.slug
    token = unsubscribe_token(notice.participant_id)
    return {
        "clue": notice.clue,
        "knit_along": notice.clue.knit_along,
        "reader": notice.participant.user,
        "note": _note(notice),
        "clue_url": _absolute(reverse("schedule:clue", args=[slug, notice.clue.number])),
        "unsubscribe_url": _absolute(reverse("schedule:unsubscribe", args=[slug, token])),
    }


def _note(notice: Notice) -> str:
    if notice.event != Notice.Event.ERRATA:
        return ""
    return Revision.objects.get(clue=notice.clue_id, number=notice.revision).note


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
