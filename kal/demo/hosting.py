"""The organiser sets a knit-along up and appoints her helpers."""

from decimal import Decimal

from kal.actions.codes import make_codes
from kal.actions.joining import join
from kal.actions.knit_alongs import create_knit_along
from kal.actions.people import change_role
from kal.demo.events import Event
from kal.models import JoinCode, KnitAlong, Participant, Role, User


def host_knit_along(event: Event, host: User) -> KnitAlong:
    """Return the stored knit-along, its public page open."""
    knit_along = KnitAlong(
        title=event.title,
        theme=event.theme,
        zone=event.zone,
        colour_count=len(event.grams),
        sign_up_opens_at=event.sign_up_opens,
        sign_up_closes_at=event.sign_up_closes,
        cast_on_at=event.cast_on,
        clue_count=event.clue_count,
        cadence_days=event.cadence_days,
        join_rule=event.join_rule,
        is_public=True,
    )
    needs = {
        letter: (Decimal(grams), Decimal(event.metres(letter)))
        for letter, grams in event.grams.items()
    }
    create_knit_along(knit_along, needs, by=host, now=event.sign_up_opens)
    # The row keeps time by the real clock, which would say that everybody joined just now.
    knit_along.participants.update(joined_at=event.sign_up_opens)
    return knit_along


def hand_out_code(event: Event, knit_along: KnitAlong, host: User) -> str:
    """Return a code that everybody who bought the pattern may use, or '' where none is asked."""
    if event.join_rule != KnitAlong.JoinRule.CODE:
        return ""
    template = JoinCode(knit_along=knit_along, label="printed in the pattern", most_uses=None)
    return make_codes(template, 1, by=host, now=event.sign_up_opens)[0].code


def appoint(
    event: Event, knit_along: KnitAlong, user: User, role: Role, *, code: str, by: User
) -> None:
    """Let a helper join and give them their role."""
    participant = join(knit_along, user, now=event.sign_up_opens, code=code)
    Participant.objects.filter(pk=participant.pk).update(joined_at=event.sign_up_opens)
    change_role(participant, role, by=by, now=event.sign_up_opens)
