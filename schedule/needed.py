"""What each letter takes of one's own yarn, at one's own gauge, and how many balls that is."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from kal.models import Participant
from palettes.models.yarn_facts import YarnFacts
from schedule.models import OwnKnitting
from schedule.pattern.gauge import Gauge
from schedule.pattern.put_ups import PutUp, balls_to_buy
from schedule.pattern.yarn import Estimate, at_gauge, in_yarn, on_needle
from schedule.weighing import put_up_of, yarns_at_hand
from schedule.yarn_forms import own_knitting_of
from schedule.yarn_plan import YarnPlan, gauge_of, plan_for
from schedule.yarn_words import basis_words, length, weight, weight_range


@dataclass(frozen=True)
class LetterNeeded:
    """One letter: what the pattern takes of one's own yarn, what there is, and what to buy."""

    letter: str
    yarn: YarnFacts | None
    grams: str
    grams_range: str
    metres: str
    basis: str
    balls: int | None
    balls_high: int | None
    """Balls for the upper end of the interval, where that is more than with the reserve."""
    held: Decimal | None

    @property
    def to_buy(self) -> int:
        """Whole balls on top of those at hand."""
        if self.balls is None or self.held is None:
            return 0
        return max(0, math.ceil(self.balls - self.held))


@dataclass(frozen=True)
class ClueNeeded:
    """One clue that may be read: weight and interval by letter."""

    number: int
    title: str
    letters: tuple[tuple[str, str, str], ...]
    basis: str


@dataclass(frozen=True)
class NeededPage:
    plan: YarnPlan
    letters: tuple[LetterNeeded, ...]
    clues: tuple[ClueNeeded, ...]
    own: OwnKnitting


def needed_page(participant: Participant, now: datetime) -> NeededPage:
    """Return what the participant needs as they may know of it at `now`."""
    plan = plan_for(participant, now)
    yarns = yarns_at_hand(participant, now).by_letter
    own = own_knitting_of(participant)
    scale = scaling_of(participant, own)
    imperial = participant.user.reads_imperial

    def mine(letter: str, estimate: Estimate) -> Estimate:
        scaled, band = scale(estimate), put_up_of(yarns.get(letter))
        return in_yarn(scaled, plan.put_ups[letter], band) if band else scaled

    letters = tuple(
        _letter(letter, mine(letter, total), plan, yarns.get(letter), imperial=imperial)
        for letter, total in plan.totals.items()
    )
    clues = tuple(
        ClueNeeded(
            clue.number,
            clue.counted.clue.title,
            tuple(
                (
                    letter,
                    weight((own_use := mine(letter, each)).grams, imperial=imperial),
                    weight_range(own_use.low, own_use.high, imperial=imperial),
                )
                for letter, each in clue.grams.items()
            ),
            basis_words(scale(next(iter(clue.grams.values()))).basis) if clue.grams else "",
        )
        for clue in plan.clues
    )
    return NeededPage(plan, letters, clues, own)


def scaling_of(participant: Participant, own: OwnKnitting) -> Callable[[Estimate], Estimate]:
    """Return what an estimate becomes at one's own gauge, or else on one's own needle."""
    plan = gauge_of(participant.knit_along)
    if own.gauge_stitches:
        gauge = Gauge(own.gauge_stitches, own.gauge_rows)
        return lambda estimate: at_gauge(estimate, plan, gauge)
    needle = own.needle_mm
    if needle and needle != participant.knit_along.needle_mm:
        return lambda estimate: on_needle(estimate, participant.knit_along.needle_mm, needle)
    return lambda estimate: estimate


def _letter(
    letter: str, estimate: Estimate, plan: YarnPlan, yarn: YarnFacts | None, *, imperial: bool
) -> LetterNeeded:
    band = put_up_of(yarn)
    put_up: PutUp = band or plan.put_ups[letter]
    reserve = Decimal(plan.reserve) / 100
    balls = balls_to_buy(estimate.grams, band, reserve) if band else None
    high = balls_to_buy(estimate.high, band, 0) if band else None
    return LetterNeeded(
        letter=letter,
        yarn=yarn,
        grams=weight(estimate.grams, imperial=imperial),
        grams_range=weight_range(estimate.low, estimate.high, imperial=imperial),
        metres=length(put_up.metres_of(estimate.grams), imperial=imperial),
        basis=basis_words(estimate.basis),
        balls=balls,
        balls_high=high if high is not None and balls is not None and high > balls else None,
        held=yarn.balls if yarn else None,
    )
