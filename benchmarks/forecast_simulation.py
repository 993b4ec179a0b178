"""Knit-alongs with known truth: do the forecasts cover what they claim, and do the warnings help?

    python -m benchmarks.forecast_simulation [cohorts]

The truth is not the forecast's own model: what varies within a knitter varies by clue and not by
gram, each clue of the plan is off for everybody at once, scales round, balls are not what their
bands say, and a third of the weigh-ins are never made. All numbers here are invented.
"""

import sys
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from schedule.pattern.forecast import NOBODY_YET, Forecast, Ground, Level, forecast, learn
from schedule.pattern.weigh_in import Usage, WeighIn, planned_so_far, read_weigh_ins

Floats = NDArray[np.float64]

LETTERS: Final = "ABCDE"

# Grams of the test knit by clue (across) and letter (down): a triangle of six clues.
PLAN: Final = np.array(
    [
        [16.0, 9.0, 0.0, 0.0, 12.0, 0.0],
        [0.0, 7.0, 0.0, 24.0, 0.0, 0.0],
        [0.0, 0.0, 42.0, 0.0, 0.0, 38.0],
        [0.0, 0.0, 12.0, 19.0, 0.0, 0.0],
        [0.0, 0.0, 0.0, 0.0, 33.0, 17.0],
    ]
)
CLUES: Final = PLAN.shape[1]


@dataclass(frozen=True, slots=True)
class World:
    """Standard deviations on the log scale, unless said otherwise."""

    knitters: int = 60
    tension: float = 0.08
    yarn: float = 0.04
    clue: float = 0.05
    plan: float = 0.03
    """How far the test knit is off in each clue and letter, for everybody."""
    host: float = 0.04
    """How far the test knitter is from the crowd in everything."""
    division: float = 1.0
    restless: float = 0.3
    """Of a division, before it rounds."""
    ball: float = 0.02
    weighs: float = 0.65
    margin: tuple[float, float] = (0.05, 0.40)
    """Yarn bought above the plan, evenly between the two."""


@dataclass(slots=True)
class Score:
    """Counts over forecasts, and over knitters' letters."""

    intervals: int = 0
    covered: int = 0
    weighed_intervals: int = 0
    weighed_covered: int = 0
    letters: int = 0
    shortages: int = 0
    warned: int = 0
    false_alarms: int = 0
    false_shorts: int = 0
    chances: list[tuple[float, bool]] = field(default_factory=list)

    @property
    def coverage(self) -> float:
        return self.covered / self.intervals

    @property
    def weighed_coverage(self) -> float:
        """Coverage once anybody has weighed anything, so that the crowd's spread is learned."""
        return self.weighed_covered / self.weighed_intervals

    @property
    def hits(self) -> float:
        """Share of true shortages warned of while the clue they come in was not begun."""
        return self.warned / self.shortages

    @property
    def false_alarm_rate(self) -> float:
        """Share of letters that lasted and were warned about at any time."""
        return self.false_alarms / (self.letters - self.shortages)

    @property
    def false_short_rate(self) -> float:
        """Share of letters that lasted and were once called more likely short than not."""
        return self.false_shorts / (self.letters - self.shortages)

    def calibration(self, low: float, high: float) -> tuple[int, float, float]:
        """Return how many chances lie in the range, their mean, and how often it came true."""
        inside = [(chance, short) for chance, short in self.chances if low <= chance < high]
        if not inside:
            return 0, 0.0, 0.0
        chances, outcomes = zip(*inside, strict=True)
        return len(inside), float(np.mean(chances)), float(np.mean(outcomes))


@dataclass(frozen=True, slots=True)
class Truth:
    """What really happens: grams used (knitter, letter, clue), bought and really held."""

    used: Floats
    bought: Floats
    held: Floats

    def left(self, clue: int) -> Floats:
        """Grams left (knitter, letter) after `clue` clues; below 0 where it did not last."""
        return np.asarray(self.held - self.used[:, :, :clue].sum(axis=2))

    @property
    def runs_out(self) -> NDArray[np.intp]:
        """The clue, from 1, in which each knitter's letter runs out; 0 where it lasts."""
        over = self.used.cumsum(axis=2) > self.held[:, :, None]
        return np.where(over.any(axis=2), over.argmax(axis=2) + 1, 0)


def draw(world: World, rng: Generator) -> Truth:
    """Return one knit-along's truth."""
    shape = (world.knitters, *PLAN.shape)
    log_rate = (
        rng.normal(0, world.host)
        + rng.normal(0, world.plan, PLAN.shape)
        + rng.normal(0, world.tension, (world.knitters, 1, 1))
        + rng.normal(0, world.yarn, (world.knitters, len(LETTERS), 1))
        + rng.normal(0, world.clue, shape)
    )
    margin = rng.uniform(*world.margin, (world.knitters, len(LETTERS)))
    bought = np.round(PLAN.sum(axis=1) * (1 + margin))
    held = bought * (1 + rng.normal(0, world.ball, bought.shape))
    return Truth(PLAN * np.exp(log_rate), bought, held)


def play(world: World, rng: Generator, score: Score) -> None:
    """Go through one knit-along clue by clue and count what the forecasts got right."""
    truth = draw(world, rng)
    made: list[list[WeighIn]] = [[] for _ in range(world.knitters)]
    runs_out = truth.runs_out
    warned_at = np.full(runs_out.shape, CLUES + 1)
    called_short = np.zeros(runs_out.shape, dtype=bool)
    for clue in range(CLUES):
        if clue:
            _weigh(world, truth, clue, made, rng)
        usages = [_usages(made[k], truth.bought[k]) for k in range(world.knitters)]
        crowd = learn(usages) if clue else NOBODY_YET
        for k in range(world.knitters):
            for letter, each in forecast(usages[k], crowd).items():
                i = LETTERS.index(letter)
                # A letter that is done or has run out needs no forecast any more.
                if not each.planned_left or 0 < runs_out[k, i] <= clue:
                    continue
                _count(each, float(truth.used[k, i, _clues_done(i, each) :].sum()), score)
                score.chances.append((each.chance_short, bool(runs_out[k, i])))
                called_short[k, i] |= each.level is Level.SHORT
                if each.level is not Level.ENOUGH:
                    warned_at[k, i] = min(warned_at[k, i], clue)
    short = runs_out > 0
    score.letters += short.size
    score.shortages += int(short.sum())
    # Warned after clue c is in time for a shortage in clue c + 1 or later.
    score.warned += int((warned_at < runs_out)[short].sum())
    score.false_alarms += int((warned_at <= CLUES)[~short].sum())
    score.false_shorts += int(called_short[~short].sum())


def simulate(world: World, *, cohorts: int, seed: int) -> Score:
    """Return the score of so many knit-alongs."""
    rng = np.random.default_rng(seed)
    score = Score()
    for _ in range(cohorts):
        play(world, rng, score)
    return score


def _weigh(
    world: World, truth: Truth, clue: int, made: list[list[WeighIn]], rng: Generator
) -> None:
    left = truth.left(clue)
    read = np.round(
        (left + rng.normal(0, world.restless * world.division, left.shape)) / world.division
    )
    weighs = rng.random(left.shape) < world.weighs
    for k, i in zip(*np.nonzero(weighs), strict=True):
        # Nobody weighs a letter that this clue did not use, or yarn they no longer have.
        if PLAN[i, clue - 1] and left[k, i] > 0:
            grams = max(0.0, float(read[k, i] * world.division))
            made[k].append(_weigh_in(i, clue, grams, float(truth.bought[k, i]), world.division))


def _weigh_in(i: int, clue: int, grams: float, bought: float, division: float) -> WeighIn:
    planned = planned_so_far([float(g) for g in PLAN[i]], clue)
    return WeighIn(LETTERS[i], planned, grams, bought, division)


def _usages(made: list[WeighIn], bought: Floats) -> dict[str, Usage]:
    totals = {letter: float(PLAN[i].sum()) for i, letter in enumerate(LETTERS)}
    held = {letter: float(bought[i]) for i, letter in enumerate(LETTERS)}
    return read_weigh_ins(made, totals, held)


def _count(made: Forecast, need: float, score: Score) -> None:
    score.intervals += 1
    score.covered += made.low <= need <= made.high
    if made.ground is not Ground.PLAN:
        score.weighed_intervals += 1
        score.weighed_covered += made.low <= need <= made.high


def _clues_done(i: int, made: Forecast) -> int:
    """The clues behind the last weigh-in, from what the plan still has."""
    done = PLAN[i].sum() - made.planned_left
    return int(np.argmax(np.append(0, PLAN[i].cumsum()) >= done - 1e-9))


WORLDS: Final = {
    "as the others vary": World(),
    "12 knitters": World(knitters=12),
    "600 knitters": World(knitters=600),
    "restless scales": World(restless=0.8),
    "coarse scales, 5 g": World(division=5.0),
    "fine scales, 0.1 g": World(division=0.1),
    "even knitters": World(tension=0.04, yarn=0.02, clue=0.03),
    "uneven knitters": World(tension=0.14, yarn=0.06, clue=0.08),
    "few weigh": World(weighs=0.2),
    "hardly enough bought": World(margin=(0.0, 0.15)),
}


COLUMNS: Final = ("forecasts", "covered", "weighed", "short", "in time", "watched", "called")
RANGES: Final = ((0, 0.05), (0.05, 0.15), (0.15, 0.3), (0.3, 0.5), (0.5, 0.9), (0.9, 1.01))


def main() -> None:
    """Print a line a world; `watched` and `called` are letters that lasted and were warned of."""
    cohorts = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    print(f"{'world':24}" + "".join(f"{column:>11}" for column in COLUMNS))
    scores = {name: _score(world, cohorts) for name, world in WORLDS.items()}
    for name, score in scores.items():
        shares = (
            score.coverage,
            score.weighed_coverage,
            score.shortages / score.letters,
            score.hits,
            score.false_alarm_rate,
            score.false_short_rate,
        )
        print(f"{name:24}{score.intervals:11}" + "".join(f"{share:11.1%}" for share in shares))
    print("\nchance of running short, in the first world: said, and came true")
    for low, high in RANGES:
        count, said, were = next(iter(scores.values())).calibration(low, high)
        print(f"  {low:4.0%} to {high:4.0%}: {count:7} forecasts said {said:.1%}, {were:.1%} were")


def _score(world: World, cohorts: int) -> Score:
    # Many knit-alongs rather than many knitters: a test knit is off for all of one at once.
    return simulate(world, cohorts=cohorts, seed=2027)


if __name__ == "__main__":
    main()
