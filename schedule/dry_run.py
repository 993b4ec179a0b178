"""The dry run: every registered palette tried against the meetings of a clue, or of all clues.

Worked out anew each time it is asked for: a thousand palettes take a few hundredths of a second.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from kal.models import KnitAlong
from palettes.audits import fabric_of, needs_of
from palettes.colour.contrast import GRADES, Grade
from palettes.colour.crowd import best_of_each, try_meetings, try_swaps
from palettes.colour.letters import Meeting as ColourMeeting
from palettes.colour.letters import Orders, plan_crowd
from palettes.colour.pair_matrix import PairsLeft, many_pairs_left
from palettes.colour.spaces import Floats
from palettes.colour.swatch import Need
from palettes.crowd_rows import CrowdRows, read_crowd, read_rows
from palettes.models import RegisteredYarn
from schedule.models import LetterChoice, Meeting
from schedule.visibility import is_plan_open

type Choices = dict[int, tuple[int, ...]]


@dataclass(frozen=True)
class SwapCount:
    """What exchanging two letters in the clue would do to the crowd, in palettes."""

    letters: tuple[str, str]
    mended: int
    broken: int


@dataclass(frozen=True)
class MeetingCount:
    """How many palettes read one meeting with which grade, and how many not well enough."""

    meeting: Meeting
    grades: dict[Grade, int]
    unread: int


@dataclass(frozen=True, eq=False)
class DryRun:
    """How the crowd comes out; arrays hold a palette a row, in the order of `registrations`."""

    meetings: tuple[Meeting, ...]
    is_planned: bool
    """Whoever has chosen no letters goes by the plan; else by the order of their palette."""
    chosen: int
    """How many go by letters of their own."""
    too_few: int
    """How many palettes have fewer yarns than there are letters, and could not be tried."""
    registrations: NDArray[np.int64]
    orders: Orders
    margins: Floats
    grades: NDArray[np.int8]
    swaps: tuple[SwapCount, ...]
    """Those that would mend more palettes than they break, most helpful first."""
    own_swaps: dict[int, tuple[str, str]]
    """By registration: letters whose exchange helps that palette here and harms it nowhere."""

    @property
    def tried(self) -> int:
        return len(self.registrations)

    @cached_property
    def unread(self) -> NDArray[np.bool_]:
        """Whether some meeting does not read: (palettes,)."""
        return np.asarray((self.margins < 0).any(axis=1))

    @cached_property
    def counts(self) -> dict[Grade, int]:
        """How many palettes have which grade at their worst meeting."""
        worst = self.grades.max(axis=1, initial=0)
        return {grade: int((worst == place).sum()) for place, grade in enumerate(GRADES)}

    @cached_property
    def by_meeting(self) -> list[MeetingCount]:
        return [
            MeetingCount(
                meeting,
                {grade: int((column == i).sum()) for i, grade in enumerate(GRADES)},
                int((margin < 0).sum()),
            )
            for meeting, column, margin in zip(
                self.meetings, self.grades.T, self.margins.T, strict=True
            )
        ]

    @cached_property
    def culprit(self) -> MeetingCount | None:
        """The meeting that most palettes do not read, None when all read everything."""
        worst = max(self.by_meeting, key=lambda count: count.unread, default=None)
        return worst if worst and worst.unread else None

    def worst_first(self) -> NDArray[np.intp]:
        """Return the rows of those with a meeting that does not read, the worst first."""
        rows = np.flatnonzero(self.unread)
        worst = self.margins[rows].min(axis=1, initial=np.inf)
        return np.asarray(rows[np.lexsort((self.registrations[rows], worst))])

    def unread_pairs(self, row: int) -> list[tuple[str, str]]:
        """Return the pairs of letters that one palette does not read, in the alphabet's order."""
        places = np.flatnonzero(self.margins[row] < 0).tolist()
        return sorted({(self.meetings[i].first, self.meetings[i].second) for i in places})


def dry_run(
    knit_along: KnitAlong,
    *,
    now: datetime,
    clue: int | None = None,
    as_if_planned: bool = False,
) -> DryRun:
    """Return how every registered palette comes out in clue number `clue`, or in all of them.

    Each goes by the letters its owner chose, else by the plan if it is open or `as_if_planned`,
    else by its own order, as the participants themselves see it.
    """
    every = tuple(Meeting.objects.in_newest_revisions(knit_along))
    here = tuple(one for one in every if clue is None or one.clue.number == clue)
    letters = len(knit_along.letters)
    is_planned = as_if_planned or is_plan_open(knit_along, now)
    needs = needs_of(knit_along) if is_planned else None
    crowd = read_crowd(knit_along, with_amounts=bool(needs))
    able = [rows for rows in crowd if rows.yarns >= letters]
    choices = _choices(knit_along, able)
    fabric = fabric_of(knit_along)
    parts = []
    for rows in able:
        left = many_pairs_left(rows.labs, rows.textures, fabric)
        orders = _orders(rows, left, every, letters, choices, needs)
        parts.append(_Part(rows, left, orders, _plain(here), _plain(every)))
    return DryRun(
        meetings=here,
        is_planned=is_planned,
        chosen=len(choices),
        too_few=sum(len(rows) for rows in crowd if rows.yarns < letters),
        registrations=_joined([part.rows.registrations for part in parts], (0,), np.int64),
        orders=_joined([part.orders for part in parts], (0, letters), np.intp),
        margins=_joined([part.trial.margins for part in parts], (0, len(here)), np.float64),
        grades=_joined([part.trial.grades for part in parts], (0, len(here)), np.int8),
        swaps=_swap_counts(parts),
        own_swaps={key: swap for part in parts for key, swap in part.own_swaps()},
    )


class _Part:
    """Palettes of one size with their letters given out."""

    def __init__(
        self,
        rows: CrowdRows,
        left: PairsLeft,
        orders: Orders,
        here: Sequence[ColourMeeting],
        every: Sequence[ColourMeeting],
    ) -> None:
        self.rows, self.left, self.orders, self.every = rows, left, orders, every
        self.trial = try_meetings(left, rows.yarns, here, orders)
        self.swaps = try_swaps(left, rows.yarns, here, orders)

    def own_swaps(self) -> list[tuple[int, tuple[str, str]]]:
        """Return registration and letters where an exchange helps one who does not read all."""
        unread = np.flatnonzero(~self.trial.reads)
        if not len(unread):
            return []
        left = PairsLeft(self.left.at_arm[unread], self.left.throughout[unread])
        every = try_swaps(left, self.rows.yarns, self.every, self.orders[unread])
        here = replace(self.swaps, before=self.swaps.before[unread], after=self.swaps.after[unread])
        keys = self.rows.registrations[unread].tolist()
        found = zip(keys, best_of_each(here, every), strict=True)
        return [(key, swap) for key, swap in found if swap]


def _plain(meetings: Sequence[Meeting]) -> list[ColourMeeting]:
    return [meeting.as_meeting() for meeting in meetings]


def _orders(
    rows: CrowdRows,
    left: PairsLeft,
    every: Sequence[Meeting],
    letters: int,
    choices: Choices,
    needs: Sequence[Need] | None,
) -> Orders:
    """Return the letters of each palette; without `needs` there is no plan to go by."""
    orders = np.tile(np.arange(letters, dtype=np.intp), (len(rows), 1))
    if needs is not None:
        orders = plan_crowd(
            left, rows.yarns, _plain(every), letters=letters, held=rows.held, needs=needs
        ).yarns
    for place, key in enumerate(rows.registrations.tolist()):
        if key in choices:
            orders[place] = choices[key]
    return orders


def _choices(knit_along: KnitAlong, crowd: Sequence[CrowdRows]) -> Choices:
    """Return the letters that stand, by current registration.

    They stand for the registration they were chosen for, and for a later one of the same colours.
    """
    chosen = LetterChoice.objects.filter(
        participant__knit_along=knit_along,
        participant__left_at=None,
        participant__palette__registrations__is_current=True,
    ).values_list("participant__palette__registrations", "registration", "order")
    letters = len(knit_along.letters)
    orders = {
        (new, old): tuple(map(int, order)) for new, old, order in chosen if len(order) == letters
    }
    moved = {(new, old) for new, old in orders if new != old}
    if moved:
        colours = _colours_of(crowd, {new for new, _ in moved})
        earlier = RegisteredYarn.objects.filter(
            registration__in=LetterChoice.objects.filter(
                participant__knit_along=knit_along, registration__is_current=False
            ).values("registration")
        )
        before = _colours_of(read_rows(earlier), {old for _, old in moved})
        moved = {(new, old) for new, old in moved if colours.get(new) != before.get(old)}
    return {new: order for (new, old), order in orders.items() if (new, old) not in moved}


def _colours_of(crowd: Sequence[CrowdRows], wanted: set[int]) -> dict[int, bytes]:
    """Return the colours and textures of the wanted registrations, to be compared."""
    return {
        key: rows.labs[place].tobytes() + rows.textures[place].tobytes()
        for rows in crowd
        for place, key in enumerate(rows.registrations.tolist())
        if key in wanted
    }


def _swap_counts(parts: Sequence[_Part]) -> tuple[SwapCount, ...]:
    mended: Counter[tuple[str, str]] = Counter()
    broken: Counter[tuple[str, str]] = Counter()
    for part in parts:
        mended.update(dict(zip(part.swaps.letters, part.swaps.mended.tolist(), strict=True)))
        broken.update(dict(zip(part.swaps.letters, part.swaps.broken.tolist(), strict=True)))
    counts = [SwapCount(letters, mended[letters], broken[letters]) for letters in mended]
    helpful = [count for count in counts if count.mended > count.broken]
    return tuple(sorted(helpful, key=lambda one: (one.broken - one.mended, one.letters)))


def _joined[T: np.generic](
    arrays: Sequence[NDArray[T]], empty: tuple[int, ...], kind: type[T]
) -> NDArray[T]:
    return np.concatenate([np.empty(empty, dtype=kind), *arrays])
