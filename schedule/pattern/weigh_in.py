"""What a kitchen scale says of a knitter's yarn: grams used against grams planned, and how surely.

Grams throughout. A participant's weigh-ins come oldest first; what cannot be true is refused with
both numbers. Ripping back is no mistake: a later weigh-in that is less far along takes the place
of those it undoes.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import Final

from palettes.colour.quantities import Amount
from schedule.pattern.errors import (
    BadAmount,
    BadProgress,
    MoreLeftThanBefore,
    MoreLeftThanBought,
)
from schedule.pattern.yarn import check_letters

# Standard deviations. Rounding to a division alone gives 1 / sqrt(12) = 0.29 of it; as much again
# for a restless scale is our choice, and so is the ball band's.
SCALE_SPREAD: Final = 0.41  # of the scale's division
BAND_SPREAD: Final = 0.02  # of the grams on a ball band, where the ball itself was not weighed

# A ball that was never touched may weigh this much more than its band says; our choice.
HEAVIEST_BALL: Final = 1.1

# A stretch counts once its planned grams are this many standard deviations of the weighing, so
# that a ratio is known to a fifth, and this share of the letter's grams, so that weighing daily
# does not pass for many independent clues. Shorter ones are joined. Our choice.
CLEAR_OF_NOISE: Final = 5.0
SHORTEST_STRETCH: Final = 0.125

# Ratios of used to planned beyond 3 and 1/3 are slips of the pen, not knitting; our choice.
STRANGEST_RATIO: Final = 3.0


@dataclass(frozen=True, slots=True)
class WeighIn:
    """Grams left of one letter, and the grams the plan has for what is knitted so far.

    `planned` is 0 for a weigh-in before casting on, which replaces the ball band. `bought` is
    all that was bought up to then, `division` the step the scale reads in.
    """

    letter: str
    planned: Amount
    left: Amount
    bought: Amount
    division: Amount = 1


@dataclass(frozen=True, slots=True)
class Stretch:
    """Knitting between two weigh-ins: planned and used grams, the variance of the used ones."""

    planned: float
    used: float
    noise: float

    @property
    def log_ratio(self) -> float:
        """Natural logarithm of used over planned, within what knitting can do."""
        bound = math.log(STRANGEST_RATIO)
        ratio = max(self.used / self.planned, 1e-9)
        return min(max(math.log(ratio), -bound), bound)

    @property
    def log_noise(self) -> float:
        """Variance of the log ratio from weighing alone."""
        return self.noise / self.planned**2

    @property
    def is_strange(self) -> bool:
        """Whether the ratio is beyond what knitting can do, so that a number is likely wrong."""
        return abs(self.log_ratio) >= math.log(STRANGEST_RATIO)


@dataclass(frozen=True, slots=True)
class Usage:
    """One letter of one knitter: the plan's grams, and what the weigh-ins say.

    `done` is the planned grams of what is knitted and `left` the grams left at the last weigh-in,
    with its variance; 0 and the grams bought where nothing was weighed.
    """

    letter: str
    total: float
    done: float
    left: float
    left_noise: float
    stretches: tuple[Stretch, ...] = ()

    @property
    def planned_left(self) -> float:
        return max(0.0, self.total - self.done)

    @property
    def is_strange(self) -> bool:
        return any(stretch.is_strange for stretch in self.stretches)


@dataclass(frozen=True, slots=True)
class _Point:
    """Planned and used grams since casting on; variances of the weighing and of yarn added."""

    planned: float
    used: float
    reading: float
    added: float


def planned_so_far(per_clue: Sequence[Amount], clues_done: int, share: float = 0.0) -> float:
    """Return the planned grams of a letter after whole clues and a share of the next one.

    BadProgress where there is no such clue, or the share is not 0 to 1.
    """
    if not 0 <= clues_done <= len(per_clue) or not 0 <= share <= 1:
        about = {"clues": clues_done, "share": float(share), "count": len(per_clue)}
        raise BadProgress("no-such-clue", **about)
    following = float(per_clue[clues_done]) if clues_done < len(per_clue) else 0.0
    return math.fsum(float(grams) for grams in per_clue[:clues_done]) + share * following


def read_weigh_ins(
    weigh_ins: Sequence[WeighIn], totals: Mapping[str, Amount], bought: Mapping[str, Amount]
) -> dict[str, Usage]:
    """Return every letter's usage; `totals` and `bought` are grams per letter.

    `weigh_ins` come oldest first. UnknownLetter, BadAmount, BadProgress, MoreLeftThanBought or
    MoreLeftThanBefore for what cannot be.
    """
    letters = "".join(sorted(totals))
    check_letters([*bought, *(each.letter for each in weigh_ins)], letters)
    by_letter = {
        letter: list(group)
        for letter, group in groupby(
            sorted(weigh_ins, key=lambda each: each.letter), key=lambda each: each.letter
        )
    }
    return {
        letter: _usage(letter, float(totals[letter]), by_letter.get(letter, []), bought)
        for letter in letters
        if letter in by_letter or letter in bought
    }


def _usage(
    letter: str, total: float, weigh_ins: Sequence[WeighIn], bought: Mapping[str, Amount]
) -> Usage:
    for each in weigh_ins:
        _check(each, total)
    standing = _standing(weigh_ins)
    if not standing:
        grams = _amount(bought[letter], letter, "bought")
        return Usage(letter, total, 0.0, grams, (BAND_SPREAD * grams) ** 2)
    _check_left(standing)
    last = standing[-1]
    # More may have been bought since the last weigh-in.
    added = max(0.0, float(bought.get(letter, last.bought)) - float(last.bought))
    return Usage(
        letter,
        total,
        float(last.planned),
        float(last.left) + added,
        _reading(last) + (BAND_SPREAD * added) ** 2,
        _stretches(_points(standing), SHORTEST_STRETCH * total),
    )


def _standing(weigh_ins: Sequence[WeighIn]) -> list[WeighIn]:
    standing: list[WeighIn] = []
    for each in weigh_ins:
        while standing and float(standing[-1].planned) >= float(each.planned):
            standing.pop()
        standing.append(each)
    return standing


def _points(standing: Sequence[WeighIn]) -> list[_Point]:
    first = standing[0]
    opening = _opening(first)
    points = [] if float(first.planned) == 0 else [_unweighed(first)]
    before = first
    for each in standing:
        added = float(each.bought) - float(before.bought)
        used = opening + float(each.bought) - float(first.bought) - float(each.left)
        points.append(_Point(float(each.planned), used, _reading(each), (BAND_SPREAD * added) ** 2))
        before = each
    return points


def _unweighed(first: WeighIn) -> _Point:
    return _Point(0.0, 0.0, (BAND_SPREAD * float(first.bought)) ** 2, 0.0)


def _opening(first: WeighIn) -> float:
    """Grams there were at cast-on: as weighed, or as the bands say."""
    return float(first.left if float(first.planned) == 0 else first.bought)


def _stretches(points: Sequence[_Point], shortest: float) -> tuple[Stretch, ...]:
    cuts = [points[0]]
    for point in points[1:]:
        stretch = _between(cuts[-1], point)
        if stretch.planned >= max(shortest, CLEAR_OF_NOISE * math.sqrt(stretch.noise)):
            cuts.append(point)
    # What is left over at the end joins the last stretch that counts.
    if len(cuts) > 1:
        cuts[-1] = points[-1]
    return tuple(_between(start, end) for start, end in pairwise(cuts))


def _between(start: _Point, end: _Point) -> Stretch:
    return Stretch(
        end.planned - start.planned,
        end.used - start.used,
        start.reading + end.reading + end.added,
    )


def _reading(weigh_in: WeighIn) -> float:
    return (SCALE_SPREAD * float(weigh_in.division)) ** 2


def _check(each: WeighIn, total: float) -> None:
    _amount(each.left, each.letter, "left")
    _amount(each.bought, each.letter, "bought")
    _amount(each.division, each.letter, "to a division of the scale")
    planned = float(each.planned)
    if not (math.isfinite(planned) and 0 <= planned <= total * (1 + 1e-9)):
        raise BadProgress("planned-beyond", letter=each.letter, grams=planned, total=total)


def _check_left(standing: Sequence[WeighIn]) -> None:
    first = standing[0]
    heaviest = HEAVIEST_BALL if float(first.planned) == 0 else 1.0
    if float(first.left) > float(first.bought) * heaviest + float(first.division):
        raise MoreLeftThanBought(
            "left-beyond-bought",
            letter=first.letter,
            left=float(first.left),
            bought=float(first.bought),
        )
    for before, after in pairwise(standing):
        most = float(before.left) + max(0.0, float(after.bought) - float(before.bought))
        if float(after.left) > most + float(before.division) + float(after.division):
            raise MoreLeftThanBefore(
                "left-beyond-before",
                letter=after.letter,
                left=float(after.left),
                before=float(before.left),
            )


def _amount(amount: Amount, letter: str, what: str) -> float:
    value = float(amount)
    if not (math.isfinite(value) and value >= 0):
        raise BadAmount(f"{amount} g of {letter} {what}; it must be 0 or more.")
    return value
