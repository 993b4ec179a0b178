"""The crowd signs up and brings its yarns, as its people would by hand."""

import random
from collections.abc import Iterator
from datetime import datetime, timedelta
from decimal import Decimal

from kal.actions.joining import join
from kal.demo.events import Event
from kal.demo.palettes import neighbours, palette, stash
from kal.demo.photos import photograph
from kal.demo.yarns import DemoYarn, with_names
from kal.models import KnitAlong, Participant, User
from palettes.actions import add_yarn, place_yarn, register_palette
from palettes.colour.spaces import hex_to_lab
from palettes.models import Yarn

SHY_ONE_IN = 6  # do not show their palette in the gallery
QUIET_ONE_IN = 5  # want no mail
SPARE_ONE_IN = 3  # bring one yarn more than the pattern takes
PICTURED = 3  # of the yarns only considered; the busy ones, whose texture is worth seeing
TIME_TO_CHOOSE = timedelta(minutes=40)


def join_crowd(
    event: Event, knit_along: KnitAlong, users: list[User], code: str, dice: random.Random
) -> None:
    """Let the users join and bring their palettes, one after another."""
    grams = list(event.grams.values())
    for place, (user, at) in enumerate(zip(users, moments(event, len(users)), strict=True)):
        participant = join_one(knit_along, user, place, code=code, at=at)
        yarns = palette(dice, place, grams)
        if place % SPARE_ONE_IN == 0:
            yarns += with_names(neighbours(dice, 2))[:1]
        bring(participant, yarns, is_draft=event.is_draft(place), at=at + TIME_TO_CHOOSE)
        if place == 0 and event.newcomer_drafts:
            considered = consider(participant, stash(dice, yarns), at=at + TIME_TO_CHOOSE)
            photograph(participant, considered[-PICTURED:], at=at + TIME_TO_CHOOSE)


def moments(event: Event, count: int) -> Iterator[datetime]:
    """Yield when each of `count` people joins: evenly over the time there was for it."""
    for place in range(count):
        yield event.sign_up_opens + (event.last_joined - event.sign_up_opens) * place / count


def join_one(
    knit_along: KnitAlong, user: User, place: int, *, code: str, at: datetime
) -> Participant:
    participant = join(
        knit_along,
        user,
        now=at,
        code=code,
        shows_palette=place % SHY_ONE_IN != SHY_ONE_IN - 1,
        wants_notices=place % QUIET_ONE_IN != QUIET_ONE_IN - 1,
    )
    # The row keeps time by the real clock, which would say that everybody joined just now.
    Participant.objects.filter(pk=participant.pk).update(joined_at=at)
    return participant


def bring(participant: Participant, yarns: list[DemoYarn], *, is_draft: bool, at: datetime) -> None:
    """Enter the yarns, the ones over as spares, and register unless it stays a draft."""
    colours = participant.knit_along.colour_count
    entered = [add_yarn(as_row(yarn), participant, now=at) for yarn in yarns]
    for spare in entered[colours:]:
        place_yarn(spare, Yarn.Place.SPARE, now=at)
    if is_draft:
        place_yarn(entered[0], Yarn.Place.CANDIDATE, now=at)
    else:
        register_palette(participant.palette, now=at)


def consider(participant: Participant, yarns: list[DemoYarn], *, at: datetime) -> list[Yarn]:
    """Enter yarns that are only thought about, so that there is something to choose from."""
    entered = [add_yarn(as_row(yarn), participant, now=at) for yarn in yarns]
    for yarn in entered:
        place_yarn(yarn, Yarn.Place.CANDIDATE, now=at)
    return entered


def as_row(yarn: DemoYarn) -> Yarn:
    lab = hex_to_lab(yarn.colour)
    return Yarn(
        name=yarn.name,
        fibre=yarn.base.fibre,
        construction=yarn.base.construction,
        care=yarn.base.care,
        dye_style=yarn.dye_style,
        put_up_grams=yarn.base.grams,
        put_up_metres=yarn.base.metres,
        balls=Decimal(yarn.balls),
        lab_l=lab.l,
        lab_a=lab.a,
        lab_b=lab.b,
        spread=yarn.spread,
    )
