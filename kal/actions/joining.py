"""Joining a knit-along, by whichever rule it has."""

from datetime import datetime

from django.db import transaction
from django.db.models import F
from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kal.errors import (
    CodeExpired,
    CodeUnknown,
    CodeUsedUp,
    CodeWithdrawn,
    JoinRefused,
    NotOnList,
    Over,
    SentAway,
    SignUpClosed,
    SignUpNotOpen,
)
from kal.models import Consent, JoinCode, KnitAlong, Participant, Removal, User
from kal.models.joining import tidy_code

NO_CODE = gettext_lazy("Type the join code the organiser gave you.")


@transaction.atomic
def join(
    knit_along: KnitAlong,
    user: User,
    *,
    now: datetime,
    code: str = "",
    shows_palette: bool = False,
    wants_notices: bool = True,
    lends_photos: bool = False,
) -> Participant:
    """Return the person's membership, made or made anew; JoinRefused with the reason otherwise.

    Somebody who takes part already is left as they are, and no code is used.
    """
    earlier = knit_along.participants.select_for_update().filter(user=user).first()
    if earlier and earlier.left_at is None:
        return earlier
    has_place = was_given_a_place(knit_along, user)
    check_may_join(knit_along, earlier, now=now, has_place=has_place)
    if knit_along.join_rule == KnitAlong.JoinRule.LIST:
        check_is_listed(knit_along, user)
    if knit_along.join_rule == KnitAlong.JoinRule.CODE and not has_place:
        use_code(knit_along, code, now=now)
    wishes = {
        "shows_palette": shows_palette,
        "wants_notices": wants_notices,
        "lends_photos": lends_photos,
    }
    participant, _is_new = Participant.objects.update_or_create(
        user=user, knit_along=knit_along, defaults={"left_at": None, "joined_at": now, **wishes}
    )
    Consent.objects.note(participant, at=now)
    return participant


def was_given_a_place(knit_along: KnitAlong, user: User) -> bool:
    """Whether an organiser moved somebody else's place to this person's address."""
    return knit_along.join_list.filter(email=user.email, is_transferred=True).exists()


def check_may_join(
    knit_along: KnitAlong, earlier: Participant | None, *, now: datetime, has_place: bool
) -> None:
    if earlier and earlier.removed_at and earlier.removal == Removal.REFUNDED:
        raise SentAway(
            _("Your place was refunded; if you bought another, ask the organiser to let you in.")
        )
    if earlier and earlier.removed_at and earlier.removal == Removal.TRANSFERRED:
        raise SentAway(
            _("Your place went to another mail address; sign in with that, or ask the organiser.")
        )
    if earlier and earlier.removed_at:
        raise SentAway(
            _("The organiser has removed you from this knit-along; only they can undo it.")
        )
    if knit_along.archived_at:
        raise Over(_("This knit-along is archived; nobody can join it any more."))
    if has_place:
        return
    if now < knit_along.sign_up_opens_at:
        opens = in_zone_of(knit_along, knit_along.sign_up_opens_at)
        raise SignUpNotOpen(_("Sign-up opens on {opens}; come back then.").format(opens=opens))
    if now >= knit_along.sign_up_closes_at:
        closed = in_zone_of(knit_along, knit_along.sign_up_closes_at)
        raise SignUpClosed(
            _("Sign-up closed on {closed}; ask the organiser whether there is room.").format(
                closed=closed
            )
        )


def in_zone_of(knit_along: KnitAlong, instant: datetime) -> str:
    local = instant.astimezone(knit_along.tz)
    return f"{formats.date_format(local, 'j F Y, H:i')} ({knit_along.zone})"


def check_is_listed(knit_along: KnitAlong, user: User) -> None:
    # The person holds this mailbox: signing in at all took a code that was mailed to it.
    if not knit_along.join_list.filter(email=user.email).exists():
        raise NotOnList(
            _(
                "{email} is not on the organiser's list; sign in with the address you gave "
                "them, or ask them to add this one."
            ).format(email=user.email)
        )


def use_code(knit_along: KnitAlong, typed: str, *, now: datetime) -> None:
    """Count one use of a join code; JoinRefused when it admits nobody now."""
    found = knit_along.join_codes.filter(code=tidy_code(typed))
    # The check and the count are one statement, so a last use cannot be taken twice.
    if not found.usable(now).update(uses=F("uses") + 1):
        raise refusal_of(found.first(), typed, now=now)


def refusal_of(code: JoinCode | None, typed: str, *, now: datetime) -> JoinRefused:
    """Return why a code admits nobody, as the one sentence to show."""
    if not typed.strip():
        return CodeUnknown(str(NO_CODE))
    if code is None:
        return CodeUnknown(
            _(
                "“{strip}” is not a join code of this knit-along; check it letter by "
                "letter, or ask the organiser."
            ).format(strip=typed.strip()[:40])
        )
    if code.withdrawn_at:
        return CodeWithdrawn(
            _("The organiser has withdrawn the code {spaced}; ask for another.").format(
                spaced=code.spaced
            )
        )
    if code.is_expired(now):
        return CodeExpired(
            _("The code {spaced} has expired; ask the organiser for another.").format(
                spaced=code.spaced
            )
        )
    return CodeUsedUp(
        _("The code {spaced} has been used up; ask the organiser for another.").format(
            spaced=code.spaced
        )
    )
