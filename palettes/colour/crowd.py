"""A crowd of palettes tried against the meetings of a clue: who reads them, and what would help.

Each palette has its letters given out already; arrays hold a palette a row.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from palettes.colour.contrast import JUST_NOTICEABLE
from palettes.colour.letters import ALPHABET, NEEDS, Meeting, Orders, left_for, pair_places
from palettes.colour.pair_matrix import PairsLeft
from palettes.colour.spaces import Floats
from palettes.colour.survey import grades_of_many


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """How every meeting comes out in every palette: both (palettes, meetings)."""

    margins: Floats
    """CIEDE2000 left over what is needed; below 0 the meeting does not read."""
    grades: NDArray[np.int8]
    """Positions in `contrast.GRADES`, 0 the strongest."""

    @property
    def reads(self) -> NDArray[np.bool_]:
        """Whether every meeting reads: (palettes,)."""
        return np.asarray((self.margins >= 0).all(axis=1))

    @property
    def worst_grades(self) -> NDArray[np.int8]:
        """The grade of each palette's worst meeting, 0 without meetings: (palettes,)."""
        return np.asarray(self.grades.max(axis=1, initial=0), dtype=np.int8)


@dataclass(frozen=True, slots=True, eq=False)
class Swaps:
    """What each exchange of two letters' yarns would do to the worst margin."""

    letters: tuple[tuple[str, str], ...]
    before: Floats
    """The worst margin as it is: (palettes,)."""
    after: Floats
    """The worst margin with the two exchanged: (palettes, swaps)."""

    @property
    def mended(self) -> NDArray[np.intp]:
        """How many palettes with a meeting that does not read would have none: (swaps,)."""
        return np.asarray((self.before[:, np.newaxis] < 0) & (self.after >= 0)).sum(axis=0)

    @property
    def broken(self) -> NDArray[np.intp]:
        """How many palettes that read everything would no longer: (swaps,)."""
        return np.asarray((self.before[:, np.newaxis] >= 0) & (self.after < 0)).sum(axis=0)


def best_of_each(here: Swaps, every: Swaps) -> list[tuple[str, str] | None]:
    """Return for each palette the exchange that helps `here` and does no harm in `every` meeting.

    To help is to lift the worst margin here by a just noticeable difference. Of those that do, it
    is the one with the best worst margin of all, then here, then of the first letters.
    """
    helps = here.after - here.before[:, np.newaxis] >= JUST_NOTICEABLE
    harmless = every.after.round(6) >= every.before[:, np.newaxis].round(6)
    merits = np.where(helps & harmless, every.after, -np.inf).round(6)
    best = merits == merits.max(axis=1, keepdims=True, initial=-np.inf)
    picked = np.where(best, here.after, -np.inf).round(6)
    return [
        here.letters[int(row.argmax())] if helpful else None
        for row, helpful in zip(picked, (helps & harmless).any(axis=1).tolist(), strict=True)
    ]


def try_meetings(left: PairsLeft, yarns: int, meetings: Sequence[Meeting], orders: Orders) -> Trial:
    """Return how the meetings come out: `left` (palettes, pairs), `orders` (palettes, letters).

    `yarns` is how many each palette has; `orders` says which of them each letter is.
    """
    places = _places(yarns, meetings, orders)
    at_arm = np.take_along_axis(left.at_arm, places, axis=1)
    throughout = np.take_along_axis(left.throughout, places, axis=1)
    return Trial(
        margins=_margins(PairsLeft(at_arm, throughout), meetings),
        grades=grades_of_many(throughout, at_arm),
    )


def try_swaps(left: PairsLeft, yarns: int, meetings: Sequence[Meeting], orders: Orders) -> Swaps:
    """Return what exchanging any two letters' yarns would do to the worst of the meetings."""
    letters = tuple(combinations(range(orders.shape[1]), 2)) if meetings else ()
    after = np.empty((len(orders), len(letters)))
    for column, (first, second) in enumerate(letters):
        swapped = orders.copy()
        swapped[:, [first, second]] = orders[:, [second, first]]
        after[:, column] = _worst(left, yarns, meetings, swapped)
    return Swaps(
        letters=tuple((ALPHABET[first], ALPHABET[second]) for first, second in letters),
        before=_worst(left, yarns, meetings, orders),
        after=after,
    )


def _places(yarns: int, meetings: Sequence[Meeting], orders: Orders) -> Orders:
    firsts, seconds = ([ALPHABET.index(m.pair[side]) for m in meetings] for side in (0, 1))
    return np.asarray(pair_places(yarns)[orders[:, firsts], orders[:, seconds]])


def _margins(met: PairsLeft, meetings: Sequence[Meeting]) -> Floats:
    """Return margins of meetings whose pairs are in `met`, a column each."""
    margins = np.empty(met.at_arm.shape)
    for column, meeting in enumerate(meetings):
        left = left_for(PairsLeft(met.at_arm[:, column], met.throughout[:, column]), meeting.needs)
        margins[:, column] = left - NEEDS[meeting.needs]
    return margins


def _worst(left: PairsLeft, yarns: int, meetings: Sequence[Meeting], orders: Orders) -> Floats:
    places = _places(yarns, meetings, orders)
    met = PairsLeft(
        np.take_along_axis(left.at_arm, places, axis=1),
        np.take_along_axis(left.throughout, places, axis=1),
    )
    return np.asarray(_margins(met, meetings).min(axis=1, initial=np.inf))
