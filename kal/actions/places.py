"""A place moved from one mail address to another."""

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from kal.actions.people import remove_participant
from kal.errors import TransferRefused
from kal.models import AuditEntry, JoinListEntry, KnitAlong, Participant, Removal, User


@transaction.atomic
def transfer_place(
    knit_along: KnitAlong, old: str, new: str, *, reason: str, by: User, now: datetime
) -> JoinListEntry:
    """Let the address `new` join in the place of `old`, by whichever rule and after sign-up too.

    Whoever takes part under `old` does no longer; their palette and photos stay theirs and are
    not passed on. Raises TransferRefused, or LastOrganiser.
    """
    KnitAlong.objects.select_for_update().get(pk=knit_along.pk)
    holder = knit_along.participants.active().filter(user__email=old).first()
    entry = knit_along.join_list.filter(email=old).first()
    check_may_move(knit_along, old, new, has_place=bool(holder or entry))
    if holder:
        remove_participant(holder, removal=Removal.TRANSFERRED, reason=reason, by=by, now=now)
    entry = entry or JoinListEntry(knit_along=knit_along)
    # It leaves its import too: undoing that must not take a place that was used and moved on.
    entry.email, entry.name, entry.buyers_import = new, "", None
    entry.is_transferred = True
    entry.save()
    # Who once gave their place away, or was refunded, may be given one.
    Participant.objects.filter(knit_along=knit_along, user__email=new).update(
        removed_at=None, removal="", removal_reason=""
    )
    AuditEntry.objects.record(
        knit_along, gettext_noop("moved a place"), by=by, at=now, before=old, after=new, why=reason
    )
    return entry


def check_may_move(knit_along: KnitAlong, old: str, new: str, *, has_place: bool) -> None:
    """Raise TransferRefused with the reason if the place of `old` cannot become that of `new`."""
    if old == new:
        raise TransferRefused(_("Both addresses are the same; type the one it goes to."))
    if not has_place:
        raise TransferRefused(
            _("%(email)s neither takes part nor is on the join list; check it letter by letter.")
            % {"email": old}
        )
    if knit_along.join_list.filter(email=new).exists():
        raise TransferRefused(
            _("%(email)s is on the join list already, so it has a place.") % {"email": new}
        )
    earlier = knit_along.participants.filter(user__email=new).first()
    if earlier and earlier.left_at is None:
        raise TransferRefused(_("%(email)s takes part already.") % {"email": new})
    if earlier and earlier.removed_at and earlier.removal in ("", Removal.SENT_AWAY):
        raise TransferRefused(
            _("%(email)s was sent away; let them back in first.") % {"email": new}
        )
