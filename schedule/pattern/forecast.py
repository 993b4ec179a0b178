"""Will the yarn last? One knitter's rate against the plan, pooled with the crowd's.

For one knitter and letter, log(used / planned) is the crowd's mean for the letter, plus the
knitter's tension (the same for all letters), plus the yarn's own, plus what differs from stretch
to stretch. All are normal; the variances are learned from the crowd, beside values assumed for a
crowd nobody has weighed yet. The posterior of a knitter's rates gives what the rest will take.
Formulas, sources and measured coverage are in docs/forecast.md.
"""

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import combinations
from statistics import NormalDist, fmean, variance
from typing import Final

import numpy as np

from schedule.pattern.shrinkage import Floats, Population, combine, fit
from schedule.pattern.weigh_in import Usage
from schedule.pattern.yarn import KNITTER_SPREAD, Z_90

# What is assumed until the crowd has weighed, and how many knitters that counts for: our choice.
ASSUMED_BETWEEN: Final = KNITTER_SPREAD**2
ASSUMED_TENSION_SHARE: Final = 0.7  # of that variance: hands; the rest is the yarn
ASSUMED_WITHIN: Final = 0.05**2  # one knitter from stretch to stretch, and the plan's own errors
# That variance holds for a stretch of up to this share of the letter's grams, two or three clues
# using a letter as a rule; over a longer one the clues average out in proportion. Our choice.
WITHIN_SHARE: Final = 0.4
PLAN_VARIANCE: Final = 0.05**2  # of the crowd's mean about the plan, one test knit being one hand
ASSUMED_SIZE: Final = 5

# Running out costs weeks or the colour, a needless look at the yarn costs a minute. Our choice, the
# highest at which simulated knit-alongs still warn in time of nine shortages in ten with something
# to spare; docs/forecast.md has the hits and the false alarms.
WATCH_FROM: Final = 0.15
SHORT_FROM: Final = 0.50
# Until one's own hands are known, whoever has exactly what is asked for, a tenth of it reserve,
# stands at 0.2. Told to buy more, a whole crowd would; so it takes half as much again. Our choice.
UNSEEN_FROM: Final = 0.30


class Level(StrEnum):
    """How worried to be about a letter."""

    ENOUGH = "enough"
    WATCH = "watch"
    SHORT = "short"


class Ground(StrEnum):
    """What a knitter's rate is known from, best first."""

    OWN = "own"
    OTHER_LETTERS = "other-letters"
    CROWD = "crowd"
    TOO_EARLY = "too-early"
    """Weighed, but too little is knitted for that to tell; so it is the plan's."""
    PLAN = "plan"


@dataclass(frozen=True, slots=True)
class Crowd:
    """What everybody's weigh-ins say; all on the log scale.

    `rates` has a population per letter that was weighed. `tension` and `yarn` are the variances
    between knitters, `within` that of one knitter's ratio from stretch to stretch.
    """

    rates: Mapping[str, Population] = field(default_factory=dict)
    tension: float = ASSUMED_BETWEEN * ASSUMED_TENSION_SHARE
    yarn: float = ASSUMED_BETWEEN * (1 - ASSUMED_TENSION_SHARE)
    within: float = ASSUMED_WITHIN

    def rate(self, letter: str) -> tuple[float, float]:
        """Return mean and variance of the letter's rate; for one nobody weighed, the others'."""
        if letter in self.rates:
            return self.rates[letter].mean, self.rates[letter].mean_variance
        means = [rate.mean for rate in self.rates.values()]
        return (math.fsum(means) / len(means) if means else 0.0), PLAN_VARIANCE


NOBODY_YET: Final = Crowd()


@dataclass(frozen=True, slots=True)
class Forecast:
    """What the rest of one letter will take, in grams, with a 90 % interval."""

    letter: str
    left: float
    planned_left: float
    rate: float
    """Used over planned: 1.1 takes a tenth more than the test knit did."""
    low: float
    need: float
    high: float
    chance_short: float
    ground: Ground
    is_strange: bool = False
    """Whether a weigh-in looks like a slip and should be looked at before anything is bought."""
    is_weighed: bool = False
    """Whether it was weighed since casting on, be it too early to tell."""

    @property
    def level(self) -> Level:
        if self.chance_short >= SHORT_FROM:
            return Level.SHORT
        return Level.WATCH if self.chance_short >= WATCH_FROM else Level.ENOUGH

    @property
    def is_own(self) -> bool:
        """Whether this knitter's own weigh-ins speak, of this letter or of others."""
        return self.ground in (Ground.OWN, Ground.OTHER_LETTERS)

    @property
    def is_worry(self) -> bool:
        """Whether to do more about it than weigh."""
        return self.chance_short >= (WATCH_FROM if self.is_own else UNSEEN_FROM)

    @property
    def missing(self) -> float:
        """Grams to get so that the upper end of the interval is covered; 0 when it is."""
        return max(0.0, self.high - self.left)


@dataclass(frozen=True, slots=True)
class _Seen:
    """One knitter's log ratio for one letter, and its variance about their true rate."""

    value: float
    noise: float


def learn(crowd: Iterable[Mapping[str, Usage]]) -> Crowd:
    """Return what the crowd's weigh-ins say; `crowd` has each knitter's usage by letter."""
    knitters = list(crowd)
    within = _within([usage for knitter in knitters for usage in knitter.values()])
    seen = [_telling(_seen(knitter, within)) for knitter in knitters]
    by_letter: dict[str, list[_Seen]] = defaultdict(list)
    for knitter in seen:
        for letter, each in knitter.items():
            by_letter[letter].append(each)
    raw = {
        letter: fit([s.value for s in group], [s.noise for s in group])
        for letter, group in by_letter.items()
        if len(group) > 1
    }
    between = _between(raw.values())
    share = _tension_share(seen, raw, between)
    return Crowd(
        rates={letter: _steadied(population) for letter, population in raw.items()},
        tension=between * share,
        yarn=between * (1 - share),
        within=within,
    )


def forecast(usages: Mapping[str, Usage], crowd: Crowd = NOBODY_YET) -> dict[str, Forecast]:
    """Return a forecast for each of one knitter's letters."""
    letters = sorted(usages)
    if not letters:
        return {}
    seen = _seen(usages, crowd.within)
    means, covariance = _posterior(letters, seen, crowd)
    return {
        letter: _forecast(
            usages[letter],
            float(means[i]),
            float(covariance[i, i]),
            crowd.within,
            _ground(usages[letter], seen, crowd),
        )
        for i, letter in enumerate(letters)
    }


def _posterior(
    letters: Sequence[str], seen: Mapping[str, _Seen], crowd: Crowd
) -> tuple[Floats, Floats]:
    rates = np.array([crowd.rate(letter) for letter in letters])
    covariance = crowd.tension + np.diag(crowd.yarn + rates[:, 1])
    positions = [i for i, letter in enumerate(letters) if letter in seen]
    if not positions:
        return rates[:, 0], covariance
    measured = [seen[letters[i]] for i in positions]
    values = np.array([each.value for each in measured])
    noise = np.array([each.noise for each in measured])
    return combine(rates[:, 0], covariance, positions, values, noise)


def _forecast(
    usage: Usage, log_rate: float, rate_variance: float, within: float, ground: Ground
) -> Forecast:
    rest = usage.planned_left
    need = rest * math.exp(log_rate)
    spread = math.sqrt(rate_variance + _wander(rest / usage.total, within)) if rest else 0.0
    return Forecast(
        letter=usage.letter,
        left=usage.left,
        planned_left=rest,
        rate=math.exp(log_rate),
        low=need * math.exp(-Z_90 * spread),
        need=need,
        high=need * math.exp(Z_90 * spread),
        chance_short=_chance_short(need, spread, usage),
        ground=ground,
        is_strange=usage.is_strange,
        is_weighed=usage.done > 0,
    )


def _wander(share: float, within: float) -> float:
    """Variance of the log ratio about the knitter's rate, over a share of the letter's grams.

    By the share and not by the clues in it, so that the interval does not tell how many are left.
    """
    return within * min(1.0, WITHIN_SHARE / share)


def _chance_short(need: float, spread: float, usage: Usage) -> float:
    if need <= 0:
        return 0.0
    if usage.left <= 0:
        return 1.0
    doubt = math.hypot(spread, math.sqrt(usage.left_noise) / usage.left)
    return NormalDist().cdf((math.log(need) - math.log(usage.left)) / doubt)


def _ground(usage: Usage, seen: Mapping[str, _Seen], crowd: Crowd) -> Ground:
    if usage.letter in seen:
        return Ground.OWN
    if seen:
        return Ground.OTHER_LETTERS
    if crowd.rates:
        return Ground.CROWD
    return Ground.TOO_EARLY if usage.done else Ground.PLAN


def _seen(usages: Mapping[str, Usage], within: float) -> dict[str, _Seen]:
    return {letter: _pooled(usage, within) for letter, usage in usages.items() if usage.stretches}


def _telling(knitter: Mapping[str, _Seen]) -> dict[str, _Seen]:
    """The letters weighed well enough to tell how knitters differ: less noise than difference.

    How noisy a scale is, is assumed; among readings that are mostly noise, a little too much
    assumed would leave no difference between knitters at all.
    """
    return {letter: each for letter, each in knitter.items() if each.noise < ASSUMED_BETWEEN}


def _pooled(usage: Usage, within: float) -> _Seen:
    precisions = [
        1 / (_wander(each.planned / usage.total, within) + each.log_noise)
        for each in usage.stretches
    ]
    total = math.fsum(precisions)
    weighted = (p * each.log_ratio for p, each in zip(precisions, usage.stretches, strict=True))
    return _Seen(math.fsum(weighted) / total, 1 / total)


def _within(usages: Sequence[Usage]) -> float:
    """Variance of one knitter's ratios from stretch to stretch, by moments about their mean."""
    excess, weights, freedom = 0.0, 0.0, 0
    for usage in usages:
        telling = [each for each in usage.stretches if each.log_noise < ASSUMED_BETWEEN]
        if len(telling) < 2 or usage.is_strange:
            continue
        degrees = len(telling) - 1
        noise = fmean(each.log_noise for each in telling)
        weight = degrees / (ASSUMED_WITHIN + noise) ** 2
        excess += weight * (variance([each.log_ratio for each in telling]) - noise)
        weights += weight
        freedom += degrees
    return _blend(ASSUMED_WITHIN, max(0.0, excess / weights) if weights else 0.0, freedom)


def _between(populations: Iterable[Population]) -> float:
    freedom, weighted = 0, 0.0
    for each in populations:
        freedom += each.size - 1
        weighted += each.between * (each.size - 1)
    return _blend(ASSUMED_BETWEEN, weighted / freedom if freedom else 0.0, freedom)


def _tension_share(
    seen: Sequence[Mapping[str, _Seen]], raw: Mapping[str, Population], between: float
) -> float:
    """Share of the variance that a knitter's letters have in common, by pairs of letters."""
    common, weights, knitters = 0.0, 0.0, 0
    for knitter in seen:
        known = [(letter, each) for letter, each in knitter.items() if letter in raw]
        for (first, a), (second, b) in combinations(known, 2):
            weight = 1 / ((a.noise + between) * (b.noise + between))
            common += weight * (a.value - raw[first].mean) * (b.value - raw[second].mean)
            weights += weight
        knitters += len(known) > 1
    found = common / weights / between if weights else 0.0
    return _blend(ASSUMED_TENSION_SHARE, min(max(found, 0.0), 1.0), knitters)


def _steadied(population: Population) -> Population:
    """The population with its mean pooled with the plan itself, of which it is one reading."""
    total = PLAN_VARIANCE + population.mean_variance
    return Population(
        population.mean * PLAN_VARIANCE / total,
        PLAN_VARIANCE * population.mean_variance / total,
        population.between,
        population.size,
    )


def _blend(assumed: float, found: float, size: int) -> float:
    return (ASSUMED_SIZE * assumed + size * found) / (ASSUMED_SIZE + size)
