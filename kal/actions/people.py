"""What an organiser does to somebody else's membership, each act logged."""

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from kal.errors import LastOrganiser
from kal.models import AuditEntry, Consent, KnitAlong, Participant, Removal, Role, User


@transaction.atomic
def change_role(participant: Participant, role: Role, *, by: User, now: datetime) -> bool:
    """Give somebody another role; False when they had it; LastOrganiser when none would be left."""
    if participant.role == role:
        return False
    check_organiser_remains(participant)
    before = participant.role_name
    participant.role = role
    participant.save(update_fields=["role"])
    log(
        participant,
        gettext_noop("changed a role"),
        by=by,
        at=now,
        before=before,
        after=participant.role_name,
    )
    return True


@transaction.atomic
def remove_participant(
    participant: Participant,
    *,
    by: User,
    now: datetime,
    removal: Removal = Removal.SENT_AWAY,
    reason: str = "",
) -> None:
    """End somebody's membership until they are let back; LastOrganiser when none would be left.

    Access ends at once; what they brought is kept until they or the organiser have it erased.
    """
    check_organiser_remains(participant)
    participant.removed_at = now
    participant.removal, participant.removal_reason = removal, reason
    end_membership(participant, now=now)
    act = {
        Removal.SENT_AWAY: gettext_noop("removed a participant"),
        Removal.REFUNDED: gettext_noop("refunded a participant"),
        Removal.TRANSFERRED: gettext_noop("ended a membership whose place moved"),
    }[removal]
    log(participant, act, by=by, at=now, why=reason)


@transaction.atomic
def let_back(participant: Participant, *, by: User, now: datetime) -> None:
    """Undo a removal: the person takes part again, as a participant."""
    participant.removed_at = participant.left_at = None
    participant.joined_at = now
    participant.removal = participant.removal_reason = ""
    participant.save(
        update_fields=["removed_at", "left_at", "joined_at", "removal", "removal_reason"]
    )
    log(participant, gettext_noop("let a participant back in"), by=by, at=now)


@transaction.atomic
def leave(participant: Participant, *, now: datetime) -> None:
    """End a membership at its holder's wish; LastOrganiser when nobody would be left to host."""
    check_organiser_remains(participant)
    end_membership(participant, now=now)


@transaction.atomic
def keep_wishes(participant: Participant, *, now: datetime) -> None:
    """Store what a participant agrees to, and when they said so."""
    participant.save(update_fields=["shows_palette", "wants_notices", "lends_photos"])
    Consent.objects.note(participant, at=now)


def end_membership(participant: Participant, *, now: datetime) -> None:
    # The role goes too: whoever comes back by an open door must not read clues early.
    participant.left_at = now
    participant.role = Role.PARTICIPANT
    participant.shows_palette = False
    participant.lends_photos = False
    ended = ["left_at", "role", "shows_palette", "lends_photos"]
    participant.save(update_fields=[*ended, "removed_at", "removal", "removal_reason"])
    Consent.objects.note(participant, at=now)


def log(participant: Participant, act: str, *, by: User, at: datetime, **detail: str) -> None:
    AuditEntry.objects.record(
        participant.knit_along,
        act,
        by=by,
        at=at,
        person=str(participant.user),
        participant=participant.pk,
        **detail,
    )


def check_organiser_remains(participant: Participant) -> None:
    """Raise LastOrganiser if `participant` is the only one; two at once wait for each other."""
    if not participant.is_organiser:
        return
    KnitAlong.objects.select_for_update().get(pk=participant.knit_along_id)
    others = Participant.objects.organisers().filter(knit_along=participant.knit_along_id)
    if not others.exclude(pk=participant.pk).exists():
        raise LastOrganiser(
            _("{user} is the only organiser; make somebody else an organiser first.").format(
                user=participant.user
            )
        )
