"""The letter plan: which yarn is A, which B, so that every meeting keeps the contrast it needs.

A meeting is two letters worked side by side somewhere in a clue. Its margin is the contrast left
between the two yarns less what the meeting needs, in CIEDE2000. The best plan has the greatest
worst margin; among those, the greatest second worst; and so on. Where some ways let every meeting
read with enough of every yarn, only those are compared, and enough yarn decides between equals;
docs/letters.md says why. Equal plans keep the palette's own order. Every way to give out the yarns
is compared.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import permutations

import numpy as np
from numpy.typing import NDArray

from palettes.colour.contrast import (
    CLOSE_FROM,
    GRADES,
    STRONG_FROM,
    WORKABLE_FROM,
    Grade,
    grade_of,
)
from palettes.colour.errors import BadMeeting, TooFewYarns, TooManyYarns
from palettes.colour.letter_amounts import (
    Flags,
    held_of,
    is_enough,
    is_enough_each,
    quantities_of,
    shortages,
)
from palettes.colour.pair_matrix import PairsLeft, left_of, many_pairs_left
from palettes.colour.quantities import Quantity
from palettes.colour.spaces import Floats
from palettes.colour.stripes import pair_indices
from palettes.colour.swatch import Fabric, Need, Swatch

ALPHABET = "ABCDEFGH"
MIN_LETTERS = 2
MAX_YARNS = len(ALPHABET)

# What each grade asks for. Close is told at arm's length, the better two throughout, as in
# `grade_of`; a meeting that may be lost is no meeting.
NEEDS: Mapping[Grade, float] = {
    Grade.STRONG: STRONG_FROM,
    Grade.WORKABLE: WORKABLE_FROM,
    Grade.CLOSE: CLOSE_FROM,
}

# Margins are compared in millionths, so that rounding noise cannot break a tie.
_MILLION = 1_000_000
# Margins worked on at once: few enough to stay in the cache.
_AT_ONCE = 500_000
_LEAST, _MOST = np.iinfo(np.int32).min, np.iinfo(np.int32).max

Orders = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Meeting:
    """Two letters side by side and the least grade that will do; BadMeeting if that cannot be."""

    first: str
    second: str
    needs: Grade

    def __post_init__(self) -> None:
        for letter in (self.first, self.second):
            if len(letter) != 1 or letter not in ALPHABET:
                raise BadMeeting(f"{letter!r} is not a letter of a palette; use A to H.")
        if self.first == self.second:
            raise BadMeeting(f"{self.first} cannot meet itself; name two letters.")
        if self.needs not in NEEDS:
            raise BadMeeting(f"A meeting cannot need {self.needs!r}; {_or_list(NEEDS)} will do.")

    @property
    def pair(self) -> tuple[str, str]:
        """The two letters in the order of the alphabet."""
        first, second = sorted((self.first, self.second))
        return first, second


def _or_list(grades: Mapping[Grade, float]) -> str:
    *most, last = grades
    return f"{', '.join(most)} or {last}"


@dataclass(frozen=True, slots=True)
class Outcome:
    """How one meeting comes out; the yarns are positions in the palette."""

    meeting: Meeting
    yarns: tuple[int, int]
    left: float
    """CIEDE2000 left where the meeting's grade is judged."""
    margin: float
    """What is left over what is needed; below 0 the meeting does not read."""
    grade: Grade

    @property
    def reads(self) -> bool:
        """Whether the pair is of the needed grade or better."""
        return GRADES.index(self.grade) <= GRADES.index(self.meeting.needs)


@dataclass(frozen=True, slots=True)
class Assignment:
    """A yarn for each letter, and how the meetings come out with it."""

    yarns: tuple[int, ...]
    """Position in the palette of the yarn for A, B, C …"""
    outcomes: tuple[Outcome, ...]
    quantities: tuple[Quantity, ...]
    """What each letter takes against its yarn, for the letters whose need is known."""

    @property
    def short(self) -> tuple[Quantity, ...]:
        """The letters whose yarn is known not to suffice."""
        return tuple(line for line in self.quantities if line.balls_short)

    @property
    def worst_margin(self) -> float | None:
        """The least margin of all; None without meetings."""
        return min((outcome.margin for outcome in self.outcomes), default=None)

    @property
    def reads(self) -> bool:
        """Whether every meeting reads."""
        return all(outcome.reads for outcome in self.outcomes)


@dataclass(frozen=True, slots=True)
class LetterPlan:
    """The best assignment, the next one, and how many are as good as the best."""

    best: Assignment
    runner_up: Assignment | None
    """Next in the same order, so as good as the best when several are; None when there is one."""
    equally_good: int
    """How many have the best one's margins, and enough yarn if it has, itself included."""


@dataclass(frozen=True, slots=True, eq=False)
class ManyPlans:
    """The best assignment of each of many palettes."""

    meetings: tuple[Meeting, ...]
    yarns: Orders
    """Position of the yarn for each letter: (palettes, letters)."""
    margins: Floats
    """Margin of each of `meetings`: (palettes, meetings)."""


def plan_letters(
    swatches: Sequence[Swatch],
    meetings: Sequence[Meeting],
    *,
    letters: int | None = None,
    fixed: Mapping[str, int] | None = None,
    fabric: Fabric | None = None,
    needs: Sequence[Need] = (),
) -> LetterPlan:
    """Return the best assignment of a palette's yarns to its first `letters` letters.

    There are as many letters as yarns unless fewer are asked for. `fixed` gives letters that must
    have a certain yarn, by position. Of meetings of the same two letters the strictest counts.
    `needs` are what the letters take, for as many of them as that is known of.
    Raises TooFewYarns, TooManyYarns or BadMeeting.
    """
    count = len(swatches)
    letters = count if letters is None else letters
    strictest = check_meetings(meetings, letters, count)
    orders = _allowed(_orders(count, letters), fixed or {}, letters, count)
    left = left_of(swatches, fabric or Fabric())
    margins = _whole(_margins(left))[_table(orders, strictest, count)]
    enough = is_enough(shortages(held_of(swatches), needs, ALPHABET[:letters])[np.newaxis], orders)
    first = int(_best_rows(margins[np.newaxis], enough)[0])
    same = (np.sort(margins, axis=1) == np.sort(margins[first])).all(axis=1)
    runner_up = None
    if len(orders) > 1:
        rest = np.delete(np.arange(len(orders)), first)
        second = rest[int(_best_rows(margins[np.newaxis, rest], enough[:, rest])[0])]
        runner_up = _assignment(orders[second], strictest, left, swatches, needs)
    return LetterPlan(
        best=_assignment(orders[first], strictest, left, swatches, needs),
        runner_up=runner_up,
        equally_good=int((same & (enough[0] == enough[0, first])).sum()),
    )


def assess(
    swatches: Sequence[Swatch],
    meetings: Sequence[Meeting],
    yarns: Sequence[int],
    fabric: Fabric | None = None,
    needs: Sequence[Need] = (),
) -> Assignment:
    """Return how the meetings come out when these yarns are A, B, C …, a person's own choice.

    Raises TooFewYarns, TooManyYarns or BadMeeting.
    """
    count = len(swatches)
    strictest = check_meetings(meetings, len(yarns), count)
    if len(set(yarns)) < len(yarns) or any(not 0 <= yarn < count for yarn in yarns):
        raise BadMeeting(f"Yarns {list(yarns)} are not different ones out of the {count} given.")
    left = left_of(swatches, fabric or Fabric())
    return _assignment(np.array(yarns), strictest, left, swatches, needs)


def plan_many(
    labs: Floats,
    textures: Floats,
    meetings: Sequence[Meeting],
    *,
    letters: int | None = None,
    fabric: Fabric | None = None,
    held: Floats | None = None,
    needs: Sequence[Need] = (),
) -> ManyPlans:
    """Return the best assignment of each palette: (palettes, n, 3) L*a*b*, (palettes, n) textures.

    `held` is grams and metres of each yarn, NaN where unknown: (palettes, n, 2). The same
    assignments as `plan_letters` gives one by one. Raises as it does.
    """
    left = many_pairs_left(labs, textures, fabric or Fabric())
    return plan_crowd(left, labs.shape[1], meetings, letters=letters, held=held, needs=needs)


def plan_crowd(
    left: PairsLeft,
    yarns: int,
    meetings: Sequence[Meeting],
    *,
    letters: int | None = None,
    held: Floats | None = None,
    needs: Sequence[Need] = (),
) -> ManyPlans:
    """Return the best assignment of each palette of so many yarns: `left` is (palettes, pairs)."""
    letters = yarns if letters is None else letters
    strictest = check_meetings(meetings, letters, yarns)
    orders = _orders(yarns, letters)
    whole = _table(orders, strictest, yarns)
    table, kept = _distinct(whole)
    count = len(left.at_arm)
    plans = ManyPlans(
        strictest, np.zeros((count, letters), dtype=np.intp), np.zeros((count, len(strictest)))
    )

    def settle(part: NDArray[np.intp], table: Orders, ways: Orders, short: Flags | None) -> None:
        by_pair = _margins(PairsLeft(left.at_arm[part], left.throughout[part]))
        enough = None if short is None else is_enough(short[part], ways)
        best = _best_rows(_whole(by_pair)[:, table], enough)
        plans.yarns[part] = ways[best]
        plans.margins[part] = np.take_along_axis(by_pair, table[best], axis=1)

    for part in _parts(np.arange(count), table):
        settle(part, table, orders[kept], None)
    if held is not None and needs:
        # Only where the best contrast takes more of a yarn than there is can amounts decide.
        short = shortages(held, needs, ALPHABET[:letters])
        for part in _parts(np.flatnonzero(~is_enough_each(short, plans.yarns)), whole):
            settle(part, whole, orders, short)
    return plans


def _parts(rows: NDArray[np.intp], table: Orders) -> Iterator[NDArray[np.intp]]:
    """Yield the rows, as many at once as the cache has room for their margins."""
    step = max(1, _AT_ONCE // max(table.size, 1))
    for start in range(0, len(rows), step):
        yield rows[start : start + step]


def check_meetings(meetings: Sequence[Meeting], letters: int, yarns: int) -> tuple[Meeting, ...]:
    """Return the strictest meeting of each two letters, in order; refuse what cannot be given."""
    if yarns > MAX_YARNS:
        raise TooManyYarns(f"{yarns} yarns given; a palette has at most {MAX_YARNS}.")
    if letters < MIN_LETTERS:
        noun = "letter" if letters == 1 else "letters"
        raise BadMeeting(f"{letters} {noun}; a plan is for {MIN_LETTERS} to {MAX_YARNS}.")
    if yarns < letters:
        raise TooFewYarns(f"{yarns} yarns given for {letters} letters; each needs its own.")
    strictest: dict[tuple[str, str], Meeting] = {}
    for meeting in meetings:
        if ALPHABET.index(meeting.pair[1]) >= letters:
            last = ALPHABET[letters - 1]
            raise BadMeeting(f"{'-'.join(meeting.pair)} meet, but the last letter is {last}.")
        known = strictest.setdefault(meeting.pair, meeting)
        if NEEDS[meeting.needs] > NEEDS[known.needs]:
            strictest[meeting.pair] = meeting
    return tuple(strictest.values())


@lru_cache(maxsize=8)
def _orders(yarns: int, letters: int) -> Orders:
    """Return every way to give out the yarns, in the palette's own order: (ways, letters)."""
    ways = np.array(list(permutations(range(yarns), letters)), dtype=np.intp)
    ways.flags.writeable = False
    return ways


def _allowed(orders: Orders, fixed: Mapping[str, int], letters: int, yarns: int) -> Orders:
    for letter, yarn in fixed.items():
        place = ALPHABET.find(letter) if len(letter) == 1 else -1
        if not 0 <= place < letters:
            raise BadMeeting(
                f"{letter!r} is fixed, but the letters are A to {ALPHABET[letters - 1]}."
            )
        if not 0 <= yarn < yarns:
            raise BadMeeting(f"{letter} is fixed to yarn {yarn + 1}; there are {yarns}.")
        orders = orders[orders[:, place] == yarn]
    if not len(orders):
        raise BadMeeting("Two letters are fixed to the same yarn; each needs its own.")
    return orders


@lru_cache(maxsize=8)
def pair_places(yarns: int) -> Orders:
    """Return where each two yarns stand in `pair_indices`: (yarns, yarns)."""
    firsts, seconds = pair_indices(yarns)
    places = np.zeros((yarns, yarns), dtype=np.intp)
    places[firsts, seconds] = places[seconds, firsts] = np.arange(len(firsts))
    return places


def _table(orders: Orders, meetings: Sequence[Meeting], yarns: int) -> Orders:
    """Return for each way and meeting the column of `_margins` it has: (ways, meetings)."""
    pairs = math.comb(yarns, 2)
    firsts, seconds = ([ALPHABET.index(m.pair[side]) for m in meetings] for side in (0, 1))
    kinds = np.array([tuple(NEEDS).index(m.needs) for m in meetings], dtype=np.intp)
    places = pair_places(yarns)[orders[:, firsts], orders[:, seconds]]
    return np.asarray(places + kinds * pairs)


def _margins(left: PairsLeft) -> Floats:
    """Return each pair's margin for each need, in the order of `NEEDS`: (..., needs x pairs)."""
    kinds = [left_for(left, needs) - least for needs, least in NEEDS.items()]
    return np.concatenate(kinds, axis=-1)


def _whole(margins: Floats) -> NDArray[np.int32]:
    return np.rint(margins * _MILLION).astype(np.int32)


def left_for(left: PairsLeft, needs: Grade) -> Floats:
    """Return each pair's contrast where a meeting with this need is judged."""
    return left.at_arm if needs is Grade.CLOSE else left.throughout


def _distinct(table: Orders) -> tuple[Orders, Orders]:
    """Return the rows whose margins can differ, and where they came from: the first of each."""
    kept = np.sort(np.unique(np.sort(table, axis=1), axis=0, return_index=True)[1])
    return table[kept], kept


def _best_rows(margins: NDArray[np.int32], enough: Flags | None = None) -> NDArray[np.intp]:
    """Return for each palette the best way: (palettes, ways, meetings) out of its margins.

    `enough` is (palettes, ways). Most ways fall out at the worst margin, so only the rest are
    sorted.
    """
    worst = margins.min(axis=2, initial=_MOST)
    if enough is not None:
        mended = enough & (worst >= 0)
        worst = np.where(mended | ~mended.any(axis=1, keepdims=True), worst, _LEAST)
    palettes, ways = np.nonzero(worst == worst.max(axis=1, keepdims=True))
    rising = np.sort(margins[palettes, ways], axis=1)[:, 1:]
    if enough is not None:
        rising = np.column_stack([rising, enough[palettes, ways]])
    for column in range(rising.shape[1]):
        starts = np.flatnonzero(np.diff(palettes, prepend=-1))
        best = np.maximum.reduceat(rising[:, column], starts)
        keep = rising[:, column] == best[palettes]
        palettes, ways, rising = palettes[keep], ways[keep], rising[keep]
    return np.asarray(ways[np.flatnonzero(np.diff(palettes, prepend=-1))])


def _assignment(
    order: Orders,
    meetings: Sequence[Meeting],
    left: PairsLeft,
    swatches: Sequence[Swatch],
    needs: Sequence[Need],
) -> Assignment:
    places = pair_places(len(swatches))
    outcomes = []
    for meeting in meetings:
        first, second = (int(order[ALPHABET.index(letter)]) for letter in meeting.pair)
        pair = places[first, second]
        at_arm, throughout = float(left.at_arm[pair]), float(left.throughout[pair])
        remains = float(left_for(left, meeting.needs)[pair])
        outcomes.append(
            Outcome(
                meeting=meeting,
                yarns=(first, second),
                left=remains,
                margin=remains - NEEDS[meeting.needs],
                grade=grade_of(at_arm, throughout),
            )
        )
    yarns = tuple(order.tolist())
    by_letter = dict(zip(ALPHABET, yarns, strict=False))
    return Assignment(yarns, tuple(outcomes), quantities_of(swatches, needs, by_letter))
