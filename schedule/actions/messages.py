"""Mailing words of one's own to participants, through the ledger of notices."""

import uuid
from collections.abc import Iterable, Mapping
from datetime import datetime

from django.db import transaction

from kal.models import KnitAlong, Participant, User
from schedule.models import Message
from schedule.notices.kinds import kind_named
from schedule.notices.ledger import write_message
from schedule.tasks import sweep_at

type Merge = Mapping[str, str]
type Recipient = Participant | tuple[Participant, Merge]


@transaction.atomic
def queue_messages(
    knit_along: KnitAlong,
    *,
    kind: str,
    subject: str,
    body: str,
    recipients: Iterable[Recipient],
    by: User | None,
    now: datetime,
    key: str | None = None,
    path: str = "",
    languages: Mapping[str, tuple[str, str]] | None = None,
) -> int:
    """Owe each recipient one mail with these words and return for how many that is new.

    `kind` is a name out of `schedule.notices.kinds` (UnknownKind otherwise). A recipient is a
    participant of this knit-along, or one with values for the `{names}` in subject and body.
    With the same `key` again the words stay as they first were and nobody is owed a second mail;
    without a key each call is a message of its own. `path` is the page to read on, like "/k/x/".
    `languages` gives subject and body by language, where they are the site's own words.
    Whether somebody wants mail is asked when it is sent. The caller logs what the organiser did.
    """
    message, _ = Message.objects.get_or_create(
        knit_along=knit_along,
        key=key or uuid.uuid4().hex,
        defaults={
            "kind": kind_named(kind).name,
            "subject": " ".join(subject.split()),
            "body": body.strip(),
            "languages": languages or {},
            "path": path,
            "author": by,
            "created_at": now,
        },
    )
    owed = dict(_with_merge(knit_along, recipients))
    count = write_message(message, owed, now=now)
    if count:
        sweep_at(now)
    return count


def _with_merge(
    knit_along: KnitAlong, recipients: Iterable[Recipient]
) -> Iterable[tuple[int, Merge]]:
    for recipient in recipients:
        participant, merge = recipient if isinstance(recipient, tuple) else (recipient, {})
        if participant.knit_along_id != knit_along.pk:
            raise ValueError(f"Participant {participant.pk} is not of {knit_along}.")
        yield participant.pk, merge
