"""A participant's pace and the hours of their clues; the weeks of a whole schedule."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from kal.models import KnitAlong, Participant
from palettes.translator import READERS_LANGUAGE
from schedule.counting import CountedClue, counted_clues
from schedule.models import Clue, OwnKnitting
from schedule.pattern.pace import (
    DEFAULT_PACE,
    Hours,
    Pace,
    Week,
    check_weeks,
    hours_for,
    plan_weeks,
    timed_pace,
)
from schedule.visibility import readable_clues

SECONDS_IN_DAY: Final = 86_400


@dataclass(frozen=True)
class ClueHours:
    """One clue and its hours, None where its stitches are not counted."""

    clue: CountedClue
    hours: Hours | None


@dataclass(frozen=True)
class Weeks:
    """The whole schedule: hours a week of each counted clue, and what stands out."""

    clues: tuple[tuple[CountedClue, Week], ...]
    uncounted: tuple[int, ...]
    findings: tuple[str, ...]


def pace_of(own: OwnKnitting) -> Pace:
    """Return the participant's own pace, or the default's wide range."""
    return timed_pace(own.per_minute, 1) if own.per_minute else DEFAULT_PACE


def hours_by_clue(participant: Participant, pace: Pace, now: datetime) -> list[ClueHours]:
    """Return the hours of each clue that the participant may read."""
    return [
        ClueHours(clue, hours_for(clue.stitches, pace) if clue.is_counted else None)
        for clue in counted_clues(readable_clues(participant, now))
    ]


def weeks_of(knit_along: KnitAlong, pace: Pace = DEFAULT_PACE) -> Weeks:
    """Return the hours a week that every clue asks for until the next, the last for a cadence."""
    clues = counted_clues(Clue.objects.filter(knit_along=knit_along))
    weeks = plan_weeks([clue.stitches for clue in clues], _days(knit_along, clues), pace)
    counted = [pair for pair in zip(clues, weeks, strict=True) if pair[0].is_counted]
    findings = check_weeks([week for _clue, week in counted])
    return Weeks(
        tuple(counted),
        tuple(clue.number for clue in clues if not clue.is_counted),
        tuple(finding.words(READERS_LANGUAGE) for finding in findings),
    )


def _days(knit_along: KnitAlong, clues: Sequence[CountedClue]) -> list[float]:
    instants = [clue.clue.release_at for clue in clues]
    ends = [*instants[1:], instants[-1] + knit_along.cadence] if instants else []
    return [
        max((end - start).total_seconds() / SECONDS_IN_DAY, 1 / 24)
        for start, end in zip(instants, ends, strict=True)
    ]
