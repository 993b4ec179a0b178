"""What a participant's own yarns will do in one clue that they may read."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from kal.models import Participant
from palettes.audits import fabric_of
from palettes.colour.letter_advice import Replacement, best_letter_swap, best_replacement
from palettes.models.yarn_facts import YarnFacts
from schedule.letters import MetPair, OwnLetters, come_out, met_pairs, own_letters
from schedule.models import Meeting
from schedule.visibility import is_plan_open, readable_clues, readable_meetings


@dataclass(frozen=True)
class SpareAdvice:
    """A spare or candidate that would help in the place of a letter's yarn."""

    spare: YarnFacts
    letter: str
    instead_of: YarnFacts
    mends: bool
    """With it every meeting considered reads."""


@dataclass(frozen=True)
class ClueColours:
    """Each meeting of the clue with the participant's own pair; none while yarns are lacking."""

    own: OwnLetters | None
    meetings: Sequence[tuple[Meeting, MetPair]]
    swap: tuple[str, str] | None
    """Two letters whose yarns would better be exchanged."""
    spare: SpareAdvice | None
    has_meetings: bool

    @property
    def unread(self) -> int:
        return sum(not pair.reads for _, pair in self.meetings)


def colours_of(participant: Participant, number: int, *, now: datetime) -> ClueColours | None:
    """Return what to expect in the clue with that number, None if the participant may not read it.

    Advice weighs every meeting that the participant may know of: those of the clues they may
    read, and all of them once the letter plan is open.
    """
    if not readable_clues(participant, now).filter(number=number).exists():
        return None
    every = list(Meeting.objects.in_newest_revisions(participant.knit_along))
    readable = list(readable_meetings(participant, now))
    here = [meeting for meeting in readable if meeting.clue.number == number]
    is_open = is_plan_open(participant.knit_along, now)
    own = own_letters(participant, every, is_plan_open=is_open)
    if own is None or not here:
        return ClueColours(own, [], None, None, has_meetings=bool(here))
    meetings = [(meeting, _pair(own, meeting, participant)) for meeting in here]
    if all(pair.reads for _, pair in meetings):
        return ClueColours(own, meetings, None, None, has_meetings=True)
    weighed = [meeting.as_meeting() for meeting in (every if is_open else readable)]
    colour_here = [meeting.as_meeting() for meeting in here]
    fabric = fabric_of(participant.knit_along)
    others = [yarn.swatch() for yarn in own.yarns.others]
    found = best_replacement(own.yarns.swatches, others, colour_here, weighed, own.order, fabric)
    return ClueColours(
        own,
        meetings,
        swap=best_letter_swap(own.yarns.swatches, colour_here, weighed, own.order, fabric),
        spare=_advice(own, found) if found else None,
        has_meetings=True,
    )


def _pair(own: OwnLetters, meeting: Meeting, participant: Participant) -> MetPair:
    fabric = fabric_of(participant.knit_along)
    (row,) = met_pairs(
        own.yarns, come_out(own.yarns, own.order, [meeting.as_meeting()], fabric), []
    )
    return row


def _advice(own: OwnLetters, found: Replacement) -> SpareAdvice:
    return SpareAdvice(
        spare=own.yarns.others[found.spare],
        letter=found.letter,
        instead_of=own.yarn_of(found.letter),
        mends=found.worst_after >= 0,
    )
