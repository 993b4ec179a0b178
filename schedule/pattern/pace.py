"""How long the stitches take, and whether a schedule asks for a fair week's knitting."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from palettes.colour.phrases import UNTRANSLATED, Translator, sentence
from palettes.colour.phrases import gettext_noop as _
from schedule.pattern.errors import BadPace

# Six knitters who timed themselves and wrote about it (weblogs, 2006 to 2014): 12 in lace, 15, 34,
# 28 to 40, 45 and 48 stitches a minute. Colour changes and looking at the pattern cost time that
# a timed row does not show, so the default lies below their middle; our choice, like its range.
DEFAULT_PER_MINUTE: Final = 25.0
DEFAULT_RANGE: Final = (12.0, 45.0)
# One's own timing of plain rows against a whole clue, as a share either way; our choice.
TIMED_SLACK: Final = 0.25

DAYS_IN_WEEK: Final = 7

# Our choice: a week may ask twice what the one before did, but beyond that only for three hours.
STEEPEST: Final = 2.0
STEEP_FROM_HOURS: Final = 3.0
# More than this a week, every week, is two hours a day: a caution for hands, not a limit.
LONG_WEEK_HOURS: Final = 14.0


class PaceSource(StrEnum):
    """Where a pace comes from."""

    TIMED = "timed"
    DEFAULT = "default"


@dataclass(frozen=True, slots=True)
class Pace:
    """Stitches a minute, with the range a whole clue may be worked at."""

    per_minute: float
    slowest: float
    fastest: float
    source: PaceSource


DEFAULT_PACE: Final = Pace(DEFAULT_PER_MINUTE, *DEFAULT_RANGE, PaceSource.DEFAULT)


@dataclass(frozen=True, slots=True)
class Hours:
    """Hours of knitting, from the fastest the pace allows to the slowest."""

    low: float
    likely: float
    high: float


@dataclass(frozen=True, slots=True)
class Week:
    """One clue's share of the schedule: hours it asks for in each week until the next."""

    clue: int
    hours: Hours


class WeekNote(StrEnum):
    """What there is to say about a week."""

    STEEP = "steep"
    LONG = "long"


class HandsNote(StrEnum):
    """A gentle word on hands."""

    REST = "rest"


WORDS: Final[Mapping[WeekNote | HandsNote, str]] = {
    WeekNote.STEEP: _(
        "Clue {clue} asks for {hours} hours a week after {before}: move some rows to "
        "a shorter clue, or give this one more days."
    ),
    WeekNote.LONG: _(
        "Clue {clue} asks for {hours} hours a week. Not everybody has two hours a day; "
        "say so, or split it."
    ),
    HandsNote.REST: _(
        "Put the work down every half hour, open your hands and roll your shoulders. "
        "If something aches, rest before it hurts. Pain, tingling or numbness that stays is for a "
        "doctor or a physiotherapist, not for a pattern."
    ),
}


@dataclass(frozen=True, slots=True)
class WeekFinding:
    """A week that stands out, with the numbers that say so."""

    note: WeekNote
    clue: int
    hours: float
    before: float | None = None

    def words(self, to: Translator = UNTRANSLATED) -> str:
        """Return the finding as a sentence in the reader's language."""
        before = "" if self.before is None else f"{self.before:.0f}"
        values = {"clue": self.clue, "hours": f"{self.hours:.0f}", "before": before}
        return sentence(WORDS[self.note], values, to)


def timed_pace(stitches: float, minutes: float) -> Pace:
    """Return one's own pace from stitches worked in so many minutes; BadPace unless above 0."""
    per_minute = _positive(stitches, "stitches") / _positive(minutes, "minutes")
    slack = 1 + TIMED_SLACK
    return Pace(per_minute, per_minute / slack, per_minute * slack, PaceSource.TIMED)


def hours_for(stitches: int, pace: Pace = DEFAULT_PACE) -> Hours:
    """Return the hours that so many stitches take."""
    if stitches < 0:
        raise BadPace(f"{stitches} stitches; it must be 0 or more.")
    low, likely, high = (
        stitches / 60 / _positive(per_minute, "stitches a minute")
        for per_minute in (pace.fastest, pace.per_minute, pace.slowest)
    )
    return Hours(low, likely, high)


def plan_weeks(
    clue_stitches: Sequence[int], days: Sequence[float], pace: Pace = DEFAULT_PACE
) -> tuple[Week, ...]:
    """Return the hours a week of each clue; `days` are those from each clue to the next."""
    return tuple(
        Week(clue, _per_week(hours_for(stitches, pace), _positive(until_next, "days")))
        for clue, (stitches, until_next) in enumerate(
            zip(clue_stitches, days, strict=True), start=1
        )
    )


def check_weeks(weeks: Sequence[Week]) -> tuple[WeekFinding, ...]:
    """Return the weeks that jump up from the one before, and of the others the very long ones."""
    findings = []
    before = weeks[0].hours.likely if weeks else 0.0
    for week in weeks:
        hours = week.hours.likely
        if hours > STEEPEST * before and hours - before > STEEP_FROM_HOURS:
            findings.append(WeekFinding(WeekNote.STEEP, week.clue, hours, before))
        elif hours > LONG_WEEK_HOURS:
            findings.append(WeekFinding(WeekNote.LONG, week.clue, hours))
        before = hours
    return tuple(findings)


def _per_week(hours: Hours, days: float) -> Hours:
    weeks = days / DAYS_IN_WEEK
    return Hours(hours.low / weeks, hours.likely / weeks, hours.high / weeks)


def _positive(amount: float, what: str) -> float:
    if not (math.isfinite(amount) and amount > 0):
        raise BadPace(f"{amount:g} {what}; it must be more than 0.")
    return amount
