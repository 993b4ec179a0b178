"""Telling the organisers in time that a clue is not ready: two days, a day and two hours before.

An alert is a message of the ledger whose key names the clue, its instant and how long before it
was due, so each is written once whatever crashes. One that a worker was not there for is not made
up for when a more pressing one is due; what comes late says so.
"""

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, timedelta

from django.db import transaction
from django.urls import reverse
from django.utils.translation import gettext as _

from kal.languages import in_every_language, speaking_to
from kal.models import Participant, User
from schedule.clock_words import countdown_words, instant_words, span_words
from schedule.models import Clue, Message, Notice
from schedule.notices.kinds import ALERT
from schedule.notices.ledger import write_message

HOUR = timedelta(hours=1)
# The last is the instant itself: from then on participants read that the clue is late.
LEADS = tuple(hours * HOUR for hours in (48, 24, 2, 0))
PUNCTUAL = timedelta(minutes=10)  # sweeps come every minute; past this an alert is late; our choice
GIVE_UP = timedelta(days=3)  # an older late clue is known, or nobody's concern; our choice
PREFIX = "clue-not-ready"


def unready(clues: Iterable[Clue], now: datetime) -> list[Clue]:
    """Return the clues an organiser should be alerted to at `now`: due in two days, or late."""
    return [
        clue
        for clue in clues
        if clue.ready_at is None and not clue.is_held and clue.release_at - LEADS[0] <= now
    ]


def raise_alerts(now: datetime) -> int:
    """Write the alerts that are due and take back those that are no longer; count those written."""
    recent = Clue.objects.filter(
        ready_at=None,
        is_held=False,
        release_at__gt=now - GIVE_UP,
        knit_along__archived_at=None,
    )
    concerned = unready(recent.filter(release_at__lte=now + LEADS[0]), now)
    withdraw_alerts(now)
    return sum(raise_alert(clue, now=now) for clue in concerned)


def raise_alert(clue: Clue, *, now: datetime) -> bool:
    """Write the most pressing alert that is due for the clue; False if it was written before."""
    lead = min(lead for lead in LEADS if clue.release_at - lead <= now)
    key = alert_key(clue, lead)
    if Message.objects.filter(knit_along=clue.knit_along_id, key=key).exists():
        return False
    return _write(clue, lead, key, now)


@transaction.atomic
def _write(clue: Clue, lead: timedelta, key: str, now: datetime) -> bool:
    message, is_new = Message.objects.get_or_create(
        knit_along=clue.knit_along,
        key=key,
        defaults={
            "kind": ALERT.name,
            "subject": _subject(clue, now),
            "body": _body(clue, lead, now),
            "languages": in_every_language(lambda: (_subject(clue, now), _body(clue, lead, now))),
            "path": reverse("schedule:desk_clues", args=[clue.knit_along.slug]),
            "created_at": now,
        },
    )
    hosts = Participant.objects.organisers().filter(knit_along=clue.knit_along_id)
    beside = clue.knit_along.zone
    instants = {"due": clue.release_at, "alert_due": clue.release_at - lead}
    write_message(
        message,
        {
            host.pk: _instants_for(host.user, instants, beside)
            for host in hosts.select_related("user")
        },
        now=now,
    )
    return is_new


def _instants_for(reader: User, instants: Mapping[str, datetime], beside: str) -> dict[str, str]:
    with speaking_to(reader):
        return {
            name: instant_words(at, reader.zone, beside=beside) for name, at in instants.items()
        }


def withdraw_alerts(now: datetime) -> int:
    """Take back unsent alerts about clues that are ready, held, moved or gone; count them."""
    waiting = Notice.objects.filter(
        kind=ALERT.name, sent_at=None, gave_up_at=None, message__key__startswith=f"{PREFIX}:"
    )
    keys = set(waiting.order_by().values_list("message__key", flat=True).distinct())
    if not keys:
        return 0
    clues = Clue.objects.filter(pk__in={int(key.split(":")[1]) for key in keys})
    standing = {alert_key(clue, lead) for clue in unready(clues, now) for lead in LEADS}
    stale = keys - standing
    # Gone with its notices, it can be written anew should the clue become unready again.
    Message.objects.filter(key__in=stale).exclude(notices__sent_at__isnull=False).delete()
    return waiting.filter(message__key__in=stale).delete()[0] if stale else 0


def alert_key(clue: Clue, lead: timedelta) -> str:
    instant = clue.release_at.astimezone(UTC)
    return f"{PREFIX}:{clue.pk}:{instant:%Y%m%dT%H%M%S}:{lead // HOUR}h"


def _subject(clue: Clue, now: datetime) -> str:
    if clue.release_at <= now:
        return _("Clue %(number)d is late: it is not ready") % {"number": clue.number}
    return _("Clue %(number)d is not ready, and due %(countdown)s") % {
        "number": clue.number,
        "countdown": countdown_words(now, clue.release_at),
    }


def _body(clue: Clue, lead: timedelta, now: datetime) -> str:
    paragraphs = [_state(clue, now), _what_would_do()]
    overdue = now - (clue.release_at - lead)
    if overdue > PUNCTUAL:
        paragraphs.append(
            _(
                "This alert comes %(span)s late. It was due {alert_due}; the worker that sends "
                "mail was not running then, or the clue was moved or marked not ready since."
            )
            % {"span": span_words(overdue)}
        )
    return "\n\n".join(paragraphs)


def _state(clue: Clue, now: datetime) -> str:
    if clue.release_at <= now:
        return _(
            "Clue %(number)d was due {due} and is not marked ready. Participants read that it is "
            "late; nothing of it is shown."
        ) % {"number": clue.number}
    return _(
        "Clue %(number)d goes out {due}, %(countdown)s, and is not marked ready. Unless it is by "
        "then, participants read that it is late; nothing of it is shown."
    ) % {"number": clue.number, "countdown": countdown_words(now, clue.release_at)}


def _what_would_do() -> str:
    return _("Finish it and mark it ready, or move it or hold it back and say why:")
