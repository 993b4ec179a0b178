"""One participant's letters: which of their yarns is A, B, C …, and how the meetings come out."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from functools import cached_property

from kal.models import Participant
from palettes.audits import fabric_of, needs_of
from palettes.colour.contrast import Grade
from palettes.colour.letters import ALPHABET, Assignment, LetterPlan, assess, plan_letters
from palettes.colour.letters import Meeting as ColourMeeting
from palettes.colour.swatch import Fabric, Need, Swatch
from palettes.models import Palette, Registration, Yarn
from palettes.models.yarn_facts import YarnFacts
from schedule.models import LetterChoice, Meeting
from schedule.visibility import is_plan_open


@dataclass(frozen=True)
class OwnYarns:
    """The yarns whose letters are asked for: those registered, or of the draft before that."""

    chosen: Sequence[YarnFacts]
    others: Sequence[YarnFacts]
    registration: Registration | None

    @cached_property
    def swatches(self) -> list[Swatch]:
        return [yarn.swatch() for yarn in self.chosen]


class Basis(StrEnum):
    """Where somebody's letters come from."""

    CHOSEN = "chosen"
    PLAN = "plan"
    ORDER = "order"


@dataclass(frozen=True)
class OwnLetters:
    """A participant's letters at one instant; `order` has a position in `yarns` for each letter."""

    yarns: OwnYarns
    basis: Basis
    order: tuple[int, ...]
    plan: LetterPlan | None
    """The best plan, None while it is not open."""
    has_stale_choice: bool
    """They chose letters for other yarns than these."""
    needs: Sequence[Need]
    """What the letters take; none while there is no plan."""

    def yarn_of(self, letter: str) -> YarnFacts:
        return self.yarns.chosen[self.order[ALPHABET.index(letter)]]


def own_yarns(participant: Participant) -> OwnYarns:
    """Return the participant's registered yarns, else those of their draft, be they none."""
    palette = Palette.objects.filter(participant=participant).first()
    if palette is None:
        return OwnYarns([], [], None)
    registration = palette.registrations.filter(is_current=True).prefetch_related("yarns").first()
    if registration:
        return OwnYarns(registration.chosen, registration.spares, registration)
    yarns = list(palette.yarns.all())
    chosen = [yarn for yarn in yarns if yarn.place == Yarn.Place.CHOSEN]
    return OwnYarns(chosen, [yarn for yarn in yarns if yarn not in chosen], None)


def own_letters(
    participant: Participant,
    meetings: Iterable[Meeting],
    *,
    is_plan_open: bool,
    yarns: OwnYarns | None = None,
) -> OwnLetters | None:
    """Return the participant's letters; None while they have fewer yarns than letters.

    Their own choice stands first; else the plan out of `meetings`, all those of the knit-along,
    if it is open; before that the order of their palette. `yarns` are others of theirs to letter.
    """
    yarns = yarns or own_yarns(participant)
    letters = len(participant.knit_along.letters)
    if len(yarns.chosen) < letters:
        return None
    choice = LetterChoice.objects.filter(participant=participant).select_related("registration")
    chosen = choice.first()
    stands = chosen is not None and _stands(chosen, yarns, letters)
    plan, needs = None, list[Need]()
    if is_plan_open:
        needs = needs_of(participant.knit_along)
        plan = plan_letters(
            yarns.swatches,
            [meeting.as_meeting() for meeting in meetings],
            letters=letters,
            fabric=fabric_of(participant.knit_along),
            needs=needs,
        )
    if chosen is not None and stands:
        basis, order = Basis.CHOSEN, chosen.positions
    elif plan is not None:
        basis, order = Basis.PLAN, plan.best.yarns
    else:
        basis, order = Basis.ORDER, tuple(range(letters))
    return OwnLetters(yarns, basis, order, plan, chosen is not None and not stands, needs)


def letters_by_plan(
    participant: Participant, chosen: Sequence[YarnFacts], now: datetime
) -> str | None:
    """Return the letter of each of these yarns of theirs, None where their order gives it.

    So it is while there is neither a plan nor a choice of letters that stands for these yarns.
    """
    is_open = is_plan_open(participant.knit_along, now)
    if not is_open and not LetterChoice.objects.filter(participant=participant).exists():
        return None
    meetings = Meeting.objects.in_newest_revisions(participant.knit_along) if is_open else ()
    yarns = own_yarns(participant)
    if _colours(yarns.chosen) != _colours(chosen):
        yarns = OwnYarns(chosen, [], None)
    own = own_letters(participant, meetings, is_plan_open=is_open, yarns=yarns)
    if own is None or own.basis == Basis.ORDER:
        return None
    return "".join(ALPHABET[own.order.index(place)] for place in range(len(chosen)))


def _stands(choice: LetterChoice, yarns: OwnYarns, letters: int) -> bool:
    if yarns.registration is None or len(choice.positions) != letters:
        return False
    if choice.registration_id == yarns.registration.pk:
        return True
    return _colours(choice.registration.chosen) == _colours(yarns.chosen)


def _colours(yarns: Iterable[YarnFacts]) -> list[tuple[object, ...]]:
    return [(yarn.lab, yarn.swatch().texture) for yarn in yarns]


def come_out(
    yarns: OwnYarns,
    order: Sequence[int],
    meetings: Iterable[ColourMeeting],
    fabric: Fabric,
    needs: Sequence[Need] = (),
) -> Assignment:
    """Return how the meetings come out, and what yarn is short, when these yarns are A, B, C …"""
    return assess(yarns.swatches, list(meetings), order, fabric, needs)


@dataclass(frozen=True)
class MetPair:
    """Two of a participant's yarns that meet, and what may be told of where."""

    letters: tuple[str, str]
    first: YarnFacts
    second: YarnFacts
    grade: Grade
    needs: Grade
    margin: float
    reads: bool
    places: tuple[tuple[int, str], ...] = ()
    """Clue and technique of the meetings whose clue the reader may read."""


def met_pairs(
    yarns: OwnYarns, assignment: Assignment, readable: Iterable[Meeting]
) -> list[MetPair]:
    """Return a row for every two letters that meet, in the order of the alphabet.

    That order says nothing of the clue a meeting is in; `places` names those of `readable` alone.
    """
    told: dict[tuple[str, str], list[tuple[int, str]]] = {}
    for meeting in readable:
        place = (meeting.clue.number, meeting.technique)
        told.setdefault((meeting.first, meeting.second), []).append(place)
    rows = []
    for outcome in sorted(assignment.outcomes, key=lambda outcome: outcome.meeting.pair):
        first, second = (yarns.chosen[yarn] for yarn in outcome.yarns)
        rows.append(
            MetPair(
                letters=outcome.meeting.pair,
                first=first,
                second=second,
                grade=outcome.grade,
                needs=outcome.meeting.needs,
                margin=outcome.margin,
                reads=outcome.reads,
                places=tuple(told.get(outcome.meeting.pair, ())),
            )
        )
    return rows
