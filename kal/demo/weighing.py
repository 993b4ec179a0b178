"""The crowd weighs its yarn at the end of each clue, as people do: most of them, most times."""

import math
import random
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final

from kal.demo.events import Event
from kal.demo.people import NEWCOMER
from kal.models import KnitAlong, Participant, Role
from schedule.actions import keep_own_knitting, keep_weigh_in
from schedule.errors import WeighInRefused
from schedule.models import Clue, WeighIn
from schedule.weighing import bought_by_letter, yarns_at_hand

# Invented, as the rest of the demo. Standard deviations on the log scale.
WEIGHS: Final = 0.6  # of the crowd, at the end of a clue
TENSION, YARN, CLUE = 0.08, 0.04, 0.05
TOPS_UP: Final = 0.9  # of the crowd buy more of a yarn whose letter takes more than they brought
NEWCOMERS_TENSION: Final = 0.16  # so that whoever signs in as Kit has something to look at
NEWCOMERS_PACE: Final = 21.0  # stitches a minute
BALL: Final = Decimal(50)  # grams, of those bought on top
KNITS_FOR: Final = timedelta(days=4)


def weigh_as_told(
    event: Event, knit_along: KnitAlong, dice: random.Random, *, now: datetime
) -> None:
    """Let the participants weigh what they knitted in the clues that are out."""
    clues = list(Clue.objects.filter(knit_along=knit_along).out(now - KNITS_FOR))
    people = knit_along.participants.active().filter(role=Role.PARTICIPANT)
    for participant in people.select_related("user", "knit_along"):
        weigh_one(event, participant, clues, dice)


def weigh_one(
    event: Event, participant: Participant, clues: list[Clue], dice: random.Random
) -> None:
    assert event.pattern is not None
    is_newcomer = participant.user.email == NEWCOMER.email
    if is_newcomer:
        keep_own_knitting(participant, {"per_minute": NEWCOMERS_PACE})
    bought = bought_by_letter(yarns_at_hand(participant, event.cast_on).by_letter, [])
    if not is_newcomer and dice.random() < TOPS_UP:
        bought |= {letter: topped_up(event, letter, had) for letter, had in bought.items()}
    tension = NEWCOMERS_TENSION if is_newcomer else dice.gauss(0, TENSION)
    rates = {letter: tension + dice.gauss(0, YARN) for letter in event.pattern.letters}
    left = {letter: float(grams) for letter, grams in bought.items()}
    for clue in clues:
        weighs = is_newcomer or dice.random() < WEIGHS
        for letter, planned in event.pattern.grams(clue.number).items():
            if letter not in left:
                continue
            left[letter] -= planned * math.exp(rates[letter] + dice.gauss(0, CLUE))
            if weighs and left[letter] > 0:
                row = WeighIn(
                    participant=participant,
                    letter=letter,
                    clue=clue,
                    left=Decimal(round(left[letter])),
                    bought=bought[letter],
                )
                note(row, at=clue.release_at + KNITS_FOR)


def topped_up(event: Event, letter: str, had: Decimal) -> Decimal:
    """Return the grams there are once whole balls cover what the letter needs."""
    return max(had, BALL * math.ceil(event.grams[letter] / BALL))


def note(weigh_in: WeighIn, *, at: datetime) -> None:
    """Store it; a person whose scale makes yarn grow by a gram is turned away, and shrugs."""
    try:
        keep_weigh_in(weigh_in, imperial=False, now=at)
    except WeighInRefused:
        return
