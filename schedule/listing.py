"""The list of clues as one participant reads it: instants, countdowns, clocks, and what changed."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby, pairwise

from django.utils.translation import gettext as _

from kal.models import Participant
from schedule.announcement import sentences_for
from schedule.clock_words import clock_notes, countdown_words
from schedule.models import ScheduleChange
from schedule.visibility import ListedClue, schedule_for

NEWS_FOR = timedelta(weeks=3)  # then a change is no news; our choice
MOST_NEWS = 5
LOOK_FOR_LATE = timedelta(minutes=5)  # between looks of an open page for a late clue; our choice


@dataclass(frozen=True)
class Row:
    """One clue on the page; `countdown` is empty once its instant has come."""

    clue: ListedClue
    countdown: str
    notes: Sequence[str]
    is_held: bool


@dataclass(frozen=True)
class News:
    """One change of the schedule: what happened to each clue, why, and when it was made."""

    sentences: Sequence[str]
    reason: str
    at: datetime


@dataclass(frozen=True)
class Listing:
    """The page's list; `look_again_at` is when an open page should fetch it anew, if ever."""

    rows: Sequence[Row]
    news: Sequence[News]
    look_again_at: datetime | None
    latest: str
    now: datetime

    @property
    def countdown_form(self) -> str:
        """What the page's script puts a span into, in the reader's language."""
        return _("in %(span)s")

    @property
    def countdown_end(self) -> str:
        return _("in less than a minute")


def listing_for(participant: Participant, now: datetime) -> Listing:
    """Return the clues as the participant may know of them at `now`; two queries."""
    clues = schedule_for(participant, now)
    changes = list(participant.knit_along.schedule_changes.told())
    held = _held(changes)
    notes = _notes(clues, participant)
    rows = [
        Row(
            clue=clue,
            countdown="" if clue.is_out else countdown_words(now, clue.release_at),
            notes=[] if clue.is_out else notes.get(clue.number, []),
            is_held=clue.key in held and not clue.is_out,
        )
        for clue in clues
    ]
    return Listing(
        rows=rows,
        news=_news(changes, participant, now),
        look_again_at=_look_again_at(clues, now),
        latest=_latest(clues),
        now=now,
    )


def coming(participant: Participant, now: datetime) -> Row | None:
    """Return the next clue that may still come at its instant, None when there is none.

    Nothing is said of the clocks, nor of what was changed: that is for the list.
    """
    held = _held(participant.knit_along.schedule_changes.told())
    for clue in schedule_for(participant, now):
        countdown = "" if clue.is_out else countdown_words(now, clue.release_at)
        if countdown and clue.key not in held:
            return Row(clue, countdown, notes=(), is_held=False)
    return None


def _held(changes: Iterable[ScheduleChange]) -> set[int]:
    """Return the clues that participants were told are held back, and not that they are let go."""
    kinds = ScheduleChange.Kind
    last = {c.clue_key: c.kind for c in changes if c.kind in (kinds.HELD, kinds.LET_GO)}
    return {key for key, kind in last.items() if kind == kinds.HELD}


def _notes(clues: Sequence[ListedClue], participant: Participant) -> dict[int, Sequence[str]]:
    zone, reader = participant.knit_along.zone, participant.user.zone
    instants = [(0, None), *((clue.number, clue.release_at) for clue in clues)]
    return {
        number: clock_notes(before, at, zone=zone, reader=reader)
        for (_number, before), (number, at) in pairwise(instants)
        if at is not None
    }


def _news(changes: Iterable[ScheduleChange], participant: Participant, now: datetime) -> list[News]:
    zone, beside = participant.user.zone, participant.knit_along.zone
    recent = [change for change in changes if change.at > now - NEWS_FOR]
    news = [
        _piece_of_news(list(group), zone, beside)
        for _at, group in groupby(recent, lambda change: change.at)
    ]
    return news[: -MOST_NEWS - 1 : -1]


def _piece_of_news(changes: Sequence[ScheduleChange], zone: str, beside: str) -> News:
    return News(
        sentences=sentences_for(changes, zone, beside),
        reason=changes[0].reason,
        at=changes[0].at,
    )


def _look_again_at(clues: Sequence[ListedClue], now: datetime) -> datetime | None:
    coming = [clue.release_at for clue in clues if clue.release_at > now]
    late = [now + LOOK_FOR_LATE] if any(clue.is_late for clue in clues) else []
    return min([*coming, *late], default=None)


def _latest(clues: Sequence[ListedClue]) -> str:
    """Return what to say aloud when an open page finds that a clue has come out."""
    out = [clue for clue in clues if clue.is_out]
    return _("Clue %(number)d is out.") % {"number": out[-1].number} if out else ""
