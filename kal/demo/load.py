"""Store the demo: the only part of it that writes, through the actions a person's clicks call."""

import random
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from kal.actions.knit_alongs import close_palettes
from kal.demo.clues import write_clues
from kal.demo.errata import put_first_clue_right
from kal.demo.events import Event, events
from kal.demo.hosting import appoint, hand_out_code, host_knit_along
from kal.demo.joining import join_crowd
from kal.demo.kits import hand_out_batch, offer_kits
from kal.demo.letters import hand_out_letters
from kal.demo.moves import move_last_clue
from kal.demo.people import DYER, MODERATOR, TEST_KNITTER, Person, crowd, host
from kal.demo.reading_ahead import explain_abbreviations, read_ahead
from kal.demo.talk import talk
from kal.demo.weighing import weigh_as_told
from kal.models import KnitAlong, Role, User

SEED = 20260117  # any number would do; with it the crowd and their yarns are always the same


@dataclass(frozen=True, slots=True)
class Cast:
    """Who is who, as stored."""

    host: User
    test_knitter: User
    moderator: User
    crowd: list[User]


@transaction.atomic
def load_demo(now: datetime) -> list[KnitAlong]:
    """Store people and knit-alongs as they stand at `now` and return the latter, all or nothing."""
    dice = random.Random(SEED)
    planned = events(now)
    cast = store_cast(dice, host_zone=planned[1].zone)
    return [store_event(event, cast, dice, now) for event in planned]


def is_loaded() -> bool:
    """Return whether the demo's host is there already."""
    return User.objects.filter(email=host("UTC").email).exists()


def store_cast(dice: random.Random, *, host_zone: str) -> Cast:
    store(DYER)
    return Cast(
        host=store(host(host_zone), may_host=True),
        test_knitter=store(TEST_KNITTER),
        moderator=store(MODERATOR),
        crowd=[store(person) for person in crowd(dice)],
    )


def store(person: Person, *, may_host: bool = False) -> User:
    return User.objects.create_user(
        person.email, name=person.name, zone=person.zone, units=person.units, may_host=may_host
    )


def store_event(event: Event, cast: Cast, dice: random.Random, now: datetime) -> KnitAlong:
    knit_along = host_knit_along(event, cast.host)
    code = hand_out_code(event, knit_along, cast.host)
    appoint(event, knit_along, cast.test_knitter, Role.CO_ORGANISER, code=code, by=cast.host)
    appoint(event, knit_along, cast.moderator, Role.MODERATOR, code=code, by=cast.host)
    join_crowd(event, knit_along, cast.crowd[: event.members], code, dice)
    hand_out_batch(event, knit_along, cast.host)
    if event.closes_palettes:
        close_palettes(knit_along, by=cast.host, now=event.cast_on)
    else:
        offer_kits(event, knit_along, cast.host)
    write_clues(event, knit_along, cast.host, now=now)
    move_last_clue(event, knit_along, cast.host, now=now)
    explain_abbreviations(knit_along, cast.host)
    if event.pattern is not None:
        read_ahead(knit_along, cast.test_knitter, cast.host)
        put_first_clue_right(event, knit_along, cast.host, now=now)
        hand_out_letters(event, knit_along, cast.host)
        weigh_as_told(event, knit_along, random.Random(SEED), now=now)
        talk(event, knit_along, now=now)
    return knit_along
