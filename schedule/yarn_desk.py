"""What the organiser's pages say of yarn: asked against reckoned, and how the crowd gets on."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from kal.models import KnitAlong, User
from palettes.translator import READERS_LANGUAGE
from schedule.counting import CountedClue, counted_clues, problems_across
from schedule.models import Clue
from schedule.pattern.forecast import Level
from schedule.pattern.stitches import Part, stitches_by_letter, total_stitches
from schedule.weighing import CrowdForecasts, forecast_crowd, kept_fresh
from schedule.yarn_plan import YarnPlan, grams_in, whole_plan
from schedule.yarn_words import basis_words, length, weight, weight_range

ROUND_TO: Final = 5  # grams; our choice, as ball bands and patterns write them
HALF_A_GRAM: Final = 0.5  # less than that is rounding


@dataclass(frozen=True)
class LetterAsked:
    """What is asked for of one letter against what the clues are reckoned to take."""

    letter: str
    asked: str
    asked_metres: str
    reckoned: str
    reckoned_range: str
    basis: str
    reserve: int | None
    """Per cent that the asked grams lie above the reckoned ones; None before anything is known."""
    suggested: str
    is_scant: bool
    by_clue: tuple[str, ...]


@dataclass(frozen=True)
class LetterCrowd:
    """How one letter goes with those who weighed: per cent against the plan, people by level."""

    letter: str
    people: int
    per_cent: int
    levels: tuple[tuple[Level, int], ...]


@dataclass(frozen=True)
class YarnDesk:
    plan: YarnPlan
    letters: tuple[LetterAsked, ...]
    unknown: tuple[int, ...]
    """Clues that say neither grams nor stitches."""
    crowd: tuple[LetterCrowd, ...]
    people: int


@dataclass(frozen=True)
class PartShare:
    """One part of a clue, and its share of the whole pattern's stitches, in per cent."""

    part: Part
    stitches: int
    per_cent: float


@dataclass(frozen=True)
class ClueShare:
    """One clue and its share of the whole pattern's stitches, in per cent."""

    counted: CountedClue
    per_cent: float
    parts: tuple[PartShare, ...]


@dataclass(frozen=True)
class CountsDesk:
    clues: tuple[ClueShare, ...]
    problems: tuple[str, ...]
    by_letter: Mapping[str, int]
    stitches: int
    rows: int


def yarn_desk(knit_along: KnitAlong, user: User, now: datetime) -> YarnDesk:
    """Return the yarn of the whole pattern, worked out anew, and that of the crowd."""
    imperial = user.reads_imperial
    plan = whole_plan(knit_along)
    letters = tuple(_asked(letter, plan, imperial=imperial) for letter in plan.totals)
    unknown = tuple(clue.number for clue in plan.clues if not clue.grams)
    people, crowd = kept_fresh(
        f"crowd-desk-{knit_along.pk}", lambda: crowd_news(knit_along, tuple(plan.totals), now)
    )
    return YarnDesk(plan, letters, unknown, crowd, people)


def crowd_news(
    knit_along: KnitAlong, letters: Sequence[str], now: datetime
) -> tuple[int, tuple[LetterCrowd, ...]]:
    """Return how many people have weighed, and how each letter goes with them."""
    found = forecast_crowd(knit_along, now)
    return len(found.each), tuple(_crowd(letter, found) for letter in letters)


def counts_desk(knit_along: KnitAlong) -> CountsDesk:
    """Return the stitches of every clue and what contradicts itself between them."""
    clues = tuple(counted_clues(Clue.objects.filter(knit_along=knit_along)))
    parts = [part for clue in clues for part in clue.parts]
    stitches = total_stitches(parts)
    return CountsDesk(
        tuple(_clue_share(clue, stitches) for clue in clues),
        tuple(problem.words(READERS_LANGUAGE) for problem in problems_across(clues)),
        stitches_by_letter(parts),
        stitches,
        sum(clue.knitted_rows for clue in clues),
    )


def _clue_share(clue: CountedClue, whole: int) -> ClueShare:
    parts = tuple(
        PartShare(part, total := total_stitches([part]), 100 * total / max(whole, 1))
        for part in clue.parts
    )
    return ClueShare(clue, 100 * clue.stitches / max(whole, 1), parts)


def _asked(letter: str, plan: YarnPlan, *, imperial: bool) -> LetterAsked:
    put_up = plan.put_ups[letter]
    asked = float(put_up.grams)
    reckoned = math.fsum(grams_in(clue, letter) for clue in plan.clues)
    total = plan.totals[letter]
    is_known = plan.is_whole and reckoned > 0
    wanted = round(reckoned * (1 + plan.reserve / 100), 3)
    return LetterAsked(
        letter=letter,
        asked=weight(asked, imperial=imperial),
        asked_metres=length(put_up.metres, imperial=imperial),
        reckoned=weight(reckoned, imperial=imperial),
        reckoned_range=weight_range(total.low, total.high, imperial=imperial) if is_known else "",
        basis=basis_words(total.basis) if is_known else "",
        reserve=round(100 * (asked / reckoned - 1)) if is_known else None,
        suggested=weight(ROUND_TO * math.ceil(wanted / ROUND_TO), imperial=imperial),
        is_scant=is_known and asked < wanted - HALF_A_GRAM,
        by_clue=tuple(
            weight(grams, imperial=imperial) if (grams := grams_in(clue, letter)) else ""
            for clue in plan.clues
        ),
    )


def _crowd(letter: str, found: CrowdForecasts) -> LetterCrowd:
    made = [each[letter] for each in found.each if letter in each]
    levels = Counter(each.level for each in made)
    rate = found.crowd.rate(letter)[0]
    return LetterCrowd(
        letter,
        len(made),
        round(100 * (math.exp(rate) - 1)) if letter in found.crowd.rates else 0,
        tuple((level, levels[level]) for level in Level),
    )
