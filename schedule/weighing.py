"""From stored weigh-ins to forecasts: one participant's, and what the crowd's teach."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from itertools import groupby
from operator import attrgetter
from typing import Final, NamedTuple, Protocol, cast

from django.core.cache import cache
from django.db.models import FloatField
from django.db.models.functions import Cast

from kal.models import KnitAlong, Participant
from palettes.models.yarn_facts import YarnFacts
from schedule.letters import own_letters, own_yarns
from schedule.models import Meeting, WeighIn
from schedule.pattern import weigh_in as core
from schedule.pattern.errors import BadWeighIn
from schedule.pattern.forecast import Crowd, Forecast, Level, forecast, learn
from schedule.pattern.put_ups import PutUp
from schedule.visibility import crowd_weigh_ins, is_plan_open
from schedule.yarn_plan import YarnPlan, crowd_plan

# Seconds. Our choice: what sixty people's weigh-ins teach changes little with one more of them,
# and reading a few thousand anew for every page would be felt.
CROWD_FRESH: Final = 600
CROWD_KEPT: Final = 86_400


type Number = Decimal | float


class Weighed(Protocol):
    """What the arithmetic reads of a weigh-in, stored or fetched by the thousand."""

    @property
    def letter(self) -> str: ...
    @property
    def clue_id(self) -> int | None: ...
    @property
    def row(self) -> int | None: ...
    @property
    def share(self) -> Number: ...
    @property
    def left(self) -> Number: ...
    @property
    def bought(self) -> Number: ...
    @property
    def division(self) -> Number: ...


class CrowdRow(NamedTuple):
    """A weigh-in of somebody, as plain numbers: models of a whole crowd take seconds to make."""

    participant_id: int
    letter: str
    clue_id: int | None
    row: int | None
    share: float
    left: float
    bought: float
    division: float


@dataclass(frozen=True)
class Weighing:
    """One participant's letters as their weigh-ins leave them.

    `troubles` are, by letter, weigh-ins that contradict each other, as after an erratum.
    """

    usages: Mapping[str, core.Usage]
    troubles: Mapping[str, BadWeighIn]


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


def last_bought(weigh_ins: Iterable[Weighed]) -> dict[str, Number]:
    """Return the grams there ever were of each letter that was weighed."""
    return {each.letter: each.bought for each in weigh_ins}


def weighing(
    plan: YarnPlan, weigh_ins: Sequence[Weighed], bought: Mapping[str, Number]
) -> Weighing:
    """Return what the weigh-ins, oldest first, say against the plan, letter by letter."""
    by_letter: dict[str, list[core.WeighIn]] = defaultdict(list)
    for each in weigh_ins:
        read = as_read(plan, each)
        if read is not None:
            by_letter[each.letter].append(read)
    usages: dict[str, core.Usage] = {}
    troubles: dict[str, BadWeighIn] = {}
    for letter, total in plan.totals.items():
        if letter not in by_letter and letter not in bought:
            continue
        known = {letter: bought[letter]} if letter in bought else {}
        try:
            usages |= core.read_weigh_ins(by_letter[letter], {letter: total.grams}, known)
        except BadWeighIn as refused:
            troubles[letter] = refused
    return Weighing(usages, troubles)


def as_read(plan: YarnPlan, each: Weighed) -> core.WeighIn | None:
    """Return a weigh-in for the arithmetic; None where the plan does not have its place."""
    if each.letter not in plan.totals or not plan.knows(each.clue_id):
        return None
    return core.WeighIn(
        each.letter,
        plan.planned(each.letter, each.clue_id, each.row, float(each.share)),
        float(each.left),
        float(each.bought),
        float(each.division),
    )


def standing(plan: YarnPlan, weigh_ins: Iterable[Weighed]) -> list[core.WeighIn]:
    """Return those weigh-ins of one letter that no later one undid by ripping back."""
    found: list[core.WeighIn] = []
    for each in filter(None, (as_read(plan, row) for row in weigh_ins)):
        while found and float(found[-1].planned) >= float(each.planned):
            found.pop()
        found.append(each)
    return found


def crowd_of(knit_along: KnitAlong, now: datetime) -> Crowd:
    """Return what everybody's weigh-ins teach, some ten minutes old at most.

    It holds nothing of clues that were not out when it was learned, so an old one tells no more.
    """
    return kept_fresh(
        f"crowd-{knit_along.pk}", lambda: learn(crowd_usages(knit_along, now).values())
    )


class CrowdForecasts(NamedTuple):
    """What everybody's weigh-ins teach, and what that says to each who weighed, by letter."""

    crowd: Crowd
    each: Sequence[Mapping[str, Forecast]]
    worried: int
    """How many are likely to run short of a letter."""


def forecast_crowd(knit_along: KnitAlong, now: datetime) -> CrowdForecasts:
    """Return the forecasts of all who weighed, and keep for `worried_last` how many worry."""
    usages = crowd_usages(knit_along, now)
    crowd = learn(usages.values())
    each = [forecast(usage, crowd) for usage in usages.values()]
    worried = sum(any(one.level is Level.SHORT for one in made.values()) for made in each)
    cache.set(f"crowd-worried-{knit_along.pk}", worried, CROWD_KEPT)
    return CrowdForecasts(crowd, each, worried)


def worried_last(knit_along: KnitAlong) -> int:
    """Return what `forecast_crowd` found last, within a day; 0 where it found nobody."""
    return int(cache.get(f"crowd-worried-{knit_along.pk}", 0))


def kept_fresh[Value](key: str, make: Callable[[], Value]) -> Value:
    """Return what is kept under the key; once it is old, one asker makes it anew for all."""
    fresh = f"{key}-fresh"
    kept = cache.get_many((key, fresh))
    if key in kept and (fresh in kept or not cache.add(fresh, True, CROWD_FRESH)):
        return cast(Value, kept[key])
    made = make()
    cache.set(key, made, CROWD_KEPT)
    cache.add(fresh, True, CROWD_FRESH)
    return made


def crowd_usages(knit_along: KnitAlong, now: datetime) -> dict[int, Mapping[str, core.Usage]]:
    """Return every participant's usage by their primary key, out of one query of weigh-ins."""
    plan = crowd_plan(knit_along, now)
    rows = crowd_weigh_ins(knit_along, now).order_by("participant", "at", "pk")
    amounts = [Cast(name, FloatField()) for name in ("share", "left", "bought", "division")]
    values = rows.values_list("participant_id", "letter", "clue_id", "row", *amounts)
    people = groupby(map(CrowdRow._make, values), attrgetter("participant_id"))
    return {
        person: weighing(plan, weigh_ins, last_bought(weigh_ins)).usages
        for person, group in people
        if (weigh_ins := list(group))
    }
