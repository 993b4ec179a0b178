"""From stored weigh-ins to forecasts: one participant's, and what the crowd's teach."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Final

from django.core.cache import cache

from kal.models import KnitAlong, Participant
from palettes.models.yarn_facts import YarnFacts
from schedule.letters import own_letters, own_yarns
from schedule.models import Clue, Meeting, WeighIn
from schedule.pattern import weigh_in as core
from schedule.pattern.errors import PatternError
from schedule.pattern.forecast import Crowd, learn
from schedule.pattern.put_ups import PutUp
from schedule.visibility import crowd_weigh_ins, is_plan_open
from schedule.yarn_plan import YarnPlan, crowd_plan

# Seconds. Our choice: what sixty people's weigh-ins teach changes little with one more of them,
# and reading a few thousand anew for every page would be felt.
CROWD_KEPT: Final = 600

CROWD_FIELDS: Final = (
    *("participant_id", "letter", "clue_id", "row", "share", "left", "bought", "division"),
)


@dataclass(frozen=True)
class Weighing:
    """One participant's letters as their weigh-ins leave them.

    `troubles` names, by letter, weigh-ins that contradict each other, as after an erratum.
    """

    usages: Mapping[str, core.Usage]
    troubles: Mapping[str, str]


@dataclass(frozen=True)
class YarnsAtHand:
    """The participant's yarn for each letter, for as many as their palette has."""

    by_letter: Mapping[str, YarnFacts]
    has_spare: bool


def yarns_at_hand(participant: Participant, now: datetime) -> YarnsAtHand:
    """Return the yarns by the letters they have now: chosen, planned, or as the palette lies."""
    knit_along = participant.knit_along
    meetings = list(Meeting.objects.in_newest_revisions(knit_along))
    own = own_letters(participant, meetings, is_plan_open=is_plan_open(knit_along, now))
    if own is not None:
        by_letter = {letter: own.yarn_of(letter) for letter in knit_along.letters}
        return YarnsAtHand(by_letter, bool(own.yarns.others))
    yarns = own_yarns(participant)
    by_letter = dict(zip(knit_along.letters, yarns.chosen, strict=False))
    return YarnsAtHand(by_letter, bool(yarns.others))


def put_up_of(yarn: YarnFacts | None) -> PutUp | None:
    """Return grams and metres of one ball; None where the band is not known in full."""
    if yarn is None or yarn.put_up_grams is None or yarn.put_up_metres is None:
        return None
    return PutUp(yarn.put_up_grams, yarn.put_up_metres)


def bought_by_letter(
    yarns: Mapping[str, YarnFacts], weigh_ins: Iterable[WeighIn]
) -> dict[str, Decimal]:
    """Return the grams there ever were of each letter: as last weighed, else by the palette."""
    bought = {
        letter: yarn.put_up_grams * yarn.balls
        for letter, yarn in yarns.items()
        if yarn.put_up_grams is not None and yarn.balls
    }
    return bought | {each.letter: each.bought for each in weigh_ins}


def weighing(
    plan: YarnPlan, weigh_ins: Sequence[WeighIn], bought: Mapping[str, Decimal]
) -> Weighing:
    """Return what the weigh-ins, oldest first, say against the plan, letter by letter."""
    by_letter: dict[str, list[core.WeighIn]] = defaultdict(list)
    for each in weigh_ins:
        read = as_read(plan, each)
        if read is not None:
            by_letter[each.letter].append(read)
    usages: dict[str, core.Usage] = {}
    troubles: dict[str, str] = {}
    for letter, total in plan.totals.items():
        if letter not in by_letter and letter not in bought:
            continue
        known = {letter: bought[letter]} if letter in bought else {}
        try:
            usages |= core.read_weigh_ins(by_letter[letter], {letter: total.grams}, known)
        except PatternError as refused:
            troubles[letter] = str(refused)
    return Weighing(usages, troubles)


def as_read(plan: YarnPlan, each: WeighIn) -> core.WeighIn | None:
    """Return a stored weigh-in for the arithmetic; None where the plan does not have its place."""
    if each.letter not in plan.totals:
        return None
    clue = plan.clue_of(each.clue_id)
    if clue is None and each.clue_id is not None:
        return None
    share = float(each.share)
    if clue is not None and each.row is not None:
        share = clue.share_done(each.letter, each.row)
    planned = min(plan.planned(each.letter, clue, share), plan.totals[each.letter].grams)
    return core.WeighIn(each.letter, planned, each.left, each.bought, each.division)


def standing(plan: YarnPlan, weigh_ins: Iterable[WeighIn]) -> list[core.WeighIn]:
    """Return those weigh-ins of one letter that no later one undid by ripping back."""
    found: list[core.WeighIn] = []
    for each in filter(None, (as_read(plan, row) for row in weigh_ins)):
        while found and float(found[-1].planned) >= float(each.planned):
            found.pop()
        found.append(each)
    return found


def crowd_of(knit_along: KnitAlong, now: datetime) -> Crowd:
    """Return what everybody's weigh-ins teach, at most ten minutes old."""
    out = Clue.objects.filter(knit_along=knit_along).out(now).count()
    key = f"crowd-{knit_along.pk}-{out}"
    crowd: Crowd | None = cache.get(key)
    if crowd is None:
        crowd = learn(crowd_usages(knit_along, now).values())
        cache.set(key, crowd, CROWD_KEPT)
    return crowd


def crowd_usages(knit_along: KnitAlong, now: datetime) -> dict[int, Mapping[str, core.Usage]]:
    """Return every participant's usage by their primary key, out of one query of weigh-ins."""
    plan = crowd_plan(knit_along, now)
    rows = crowd_weigh_ins(knit_along, now).order_by("participant", "at", "pk")
    by_person: dict[int, list[WeighIn]] = defaultdict(list)
    for values in rows.values_list(*CROWD_FIELDS):
        each = WeighIn(**dict(zip(CROWD_FIELDS, values, strict=True)))
        by_person[each.participant_id].append(each)
    return {
        person: weighing(plan, weigh_ins, bought_by_letter({}, weigh_ins)).usages
        for person, weigh_ins in by_person.items()
    }
