"""The best sets of yarns out of many, exactly: every combination is looked at or ruled out.

Scores are whole millionths, so a sum does not depend on its order and ties are real ties. Sets
are built one yarn at a time, in order; a set that is begun keeps, for every yarn that may come
next, what adding it would bring. A beginning is given up only when even the best ending could
not reach the sets already found.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Whole = NDArray[np.int32]
Members = NDArray[np.int8]

# Beginnings extended in one go: enough to keep numpy busy, few enough to stay in the cache.
AT_ONCE = 4096
_NO_PAIR_YET = np.iinfo(np.int32).max // 2
_UNREACHABLE = -10_000_000
# Under any score: what is taken away never comes to a whole one.
_UNDER_ALL = -1_000_000


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """What a set of yarns earns, in millionths; `n` yarns to choose from.

    The score is the sum of `pair` over its pairs and of `yarn` over its yarns, the least `worst`
    of its pairs, `rungs` at the union of its yarns' `rung` bits, and `grouped` at the number of
    its yarns with `in_group`.
    """

    pair: Whole
    worst: Whole
    yarn: Whole
    rung: Whole
    rungs: Whole
    in_group: Whole
    grouped: Whole


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """Sets in order: best first, ties by the yarns' places in the list."""

    members: Members
    """Ascending in each row: (sets, yarns)."""
    scores: Whole


@dataclass(frozen=True, slots=True, eq=False)
class _Begun:
    """Sets begun, one row each, with what every possible next yarn would change."""

    members: Members
    total: Whole
    worst: Whole
    gain: Whole
    worst_next: Whole
    rung: Whole
    grouped: Whole

    def __len__(self) -> int:
        return len(self.total)

    def rows(self, rows: slice | NDArray[np.intp] | NDArray[np.bool_]) -> "_Begun":
        return _Begun(
            self.members[rows],
            self.total[rows],
            self.worst[rows],
            self.gain[rows],
            self.worst_next[rows],
            self.rung[rows],
            self.grouped[rows],
        )


def best_sets(points: Points, choose: int, locked: Sequence[int], keep: int) -> Found:
    """Return the `keep` best sets of `choose` yarns that hold every locked one, or all if fewer."""
    count = len(points.yarn)
    free = [yarn for yarn in range(count) if yarn not in set(locked)]
    order = [*locked, *free]
    search = _Search(_reorder(points, order), choose, len(locked), keep)
    search.extend(_begin(search.points, len(locked)))
    members = np.sort(np.array(order, dtype=np.int8)[search.members], axis=1)
    return Found(members, search.scores)


def count_sets(count: int, choose: int, locked: int) -> int:
    """Return how many sets of `choose` there are out of `count` with `locked` of them given."""
    return math.comb(count - locked, choose - locked)


def _reorder(points: Points, order: Sequence[int]) -> Points:
    square = np.ix_(order, order)
    return Points(
        points.pair[square],
        points.worst[square],
        points.yarn[order],
        points.rung[order],
        points.rungs,
        points.in_group[order],
        points.grouped,
    )


def _begin(points: Points, locked: int) -> _Begun:
    nothing = np.zeros(1, dtype=np.int32)
    begun = _Begun(
        members=np.zeros((1, 0), dtype=np.int8),
        total=nothing,
        worst=nothing + _NO_PAIR_YET,
        gain=points.yarn[np.newaxis],
        worst_next=np.full((1, len(points.yarn)), _NO_PAIR_YET, dtype=np.int32),
        rung=nothing,
        grouped=nothing,
    )
    for yarn in range(locked):
        begun = _add(points, begun, np.zeros(1, dtype=np.intp), np.array([yarn]))
    return begun


def _add(points: Points, begun: _Begun, rows: NDArray[np.intp], yarns: NDArray[np.intp]) -> _Begun:
    """Return each of these rows with its yarn added."""
    members = np.concatenate([begun.members[rows], yarns[:, np.newaxis]], axis=1, dtype=np.int8)
    return _Begun(
        members,
        begun.total[rows] + begun.gain[rows, yarns],
        np.minimum(begun.worst[rows], begun.worst_next[rows, yarns]),
        begun.gain[rows] + points.pair[yarns],
        np.minimum(begun.worst_next[rows], points.worst[yarns]),
        begun.rung[rows] | points.rung[yarns],
        begun.grouped[rows] + points.in_group[yarns],
    )


class _Search:
    """The sets found so far, best first; found earlier is earlier in the list of yarns."""

    def __init__(self, points: Points, choose: int, locked: int, keep: int) -> None:
        self.points = points
        self.choose = choose
        self.locked = locked
        self.keep = keep
        self.members: Members = np.zeros((0, choose), dtype=np.int8)
        self.scores: Whole = np.zeros(0, dtype=np.int32)
        self.columns = np.arange(len(points.yarn))
        # For each place, the rungs of the yarns from there on; nothing lies beyond the last.
        ahead = np.bitwise_or.accumulate(points.rung[::-1])[::-1]
        self.rungs_ahead = np.append(ahead, np.int32(0))

    @property
    def floor(self) -> int:
        """The score a further set must beat; equal is too late, for ties go to the earlier."""
        return int(self.scores[-1]) if len(self.scores) == self.keep else _UNDER_ALL

    def extend(self, begun: _Begun) -> None:
        """Look at every set that starts with one of these, in order."""
        size = begun.members.shape[1]
        if size == self.choose:
            self._take(begun.members, self._final_scores(begun))
        elif size == self.choose - 1:
            self._finish(begun)
        else:
            for part in self._longer(begun):
                self.extend(part)

    def _longer(self, begun: _Begun) -> Iterator[_Begun]:
        size = begun.members.shape[1]
        last_start = len(self.columns) - (self.choose - size)
        rows, yarns = np.nonzero(self._may_follow(begun) & (self.columns <= last_start))
        for start in range(0, len(rows), AT_ONCE):
            part = slice(start, start + AT_ONCE)
            longer = _add(self.points, begun, rows[part], yarns[part])
            # One yarn short of a set, scoring every ending is as quick as bounding them.
            if size + 1 < self.choose - 1:
                longer = longer.rows(self._best_possible(longer) > self.floor)
            yield longer

    def _may_follow(self, begun: _Begun) -> NDArray[np.bool_]:
        return self.columns >= self._first_next(begun)[:, np.newaxis]

    def _first_next(self, begun: _Begun) -> NDArray[np.intp]:
        last = begun.members.max(axis=1, initial=-1).astype(np.intp)
        return np.maximum(last + 1, self.locked)

    def _best_possible(self, begun: _Begun) -> NDArray[np.int64]:
        """Return for each row a score that no set with this beginning can exceed."""
        points, more = self.points, self.choose - begun.members.shape[1]
        first_next = self._first_next(begun)
        follows = self.columns >= first_next[:, np.newaxis]
        # Each of the yarns to come earns its gain; at best they are the ones that earn the most,
        # and every two of them are the best pair there is.
        gained = self._best_gained(begun, more, follows)
        among = math.comb(more, 2) * points.pair.max()
        # All of them must read beside the beginning, the last of them included.
        worsts = np.where(follows, begun.worst_next, _UNREACHABLE)
        worst = np.minimum(begun.worst, np.partition(worsts, -more, axis=1)[:, -more])
        rungs = points.rungs[begun.rung | self.rungs_ahead[first_next]]
        return np.asarray(begun.total + gained + among + worst + rungs)

    def _best_gained(
        self, begun: _Begun, more: int, follows: NDArray[np.bool_]
    ) -> NDArray[np.int64]:
        """Return the most that so many more yarns gain, and the number in the group with them."""
        if not self.points.grouped.any():
            return _top(np.where(follows, begun.gain, _UNREACHABLE), more).sum(axis=1)
        member = self.points.in_group > 0
        inside = _best_sums(np.where(follows & member, begun.gain, _UNREACHABLE), more)
        outside = _best_sums(np.where(follows & ~member, begun.gain, _UNREACHABLE), more)
        # One column for each number of them that is in the group.
        grouped = self.points.grouped[begun.grouped[:, np.newaxis] + np.arange(more + 1)]
        return np.asarray((inside + outside[:, ::-1] + grouped).max(axis=1))

    def _final_scores(self, begun: _Begun) -> Whole:
        return np.asarray(
            begun.total
            + begun.worst
            + self.points.rungs[begun.rung]
            + self.points.grouped[begun.grouped]
        )

    def _finish(self, begun: _Begun) -> None:
        points = self.points
        scores = begun.gain + begun.total[:, np.newaxis]
        scores += np.minimum(begun.worst_next, begun.worst[:, np.newaxis])
        scores += points.rungs[begun.rung[:, np.newaxis] | points.rung]
        scores += points.grouped[begun.grouped[:, np.newaxis] + points.in_group]
        rows, yarns = np.nonzero(self._may_follow(begun) & (scores > self.floor))
        members = np.concatenate([begun.members[rows], yarns[:, np.newaxis]], axis=1, dtype=np.int8)
        self._take(members, scores[rows, yarns])

    def _take(self, members: Members, scores: Whole) -> None:
        if not len(scores):
            return
        all_scores = np.concatenate([self.scores, scores])
        best = np.argsort(-all_scores, kind="stable")[: self.keep]
        self.members = np.concatenate([self.members, members])[best]
        self.scores = all_scores[best]


def _top(gains: Whole, count: int) -> NDArray[np.int64]:
    """Return the `count` greatest of each row, in no order."""
    return np.partition(gains, -count, axis=1)[:, -count:].astype(np.int64)


def _best_sums(gains: Whole, most: int) -> NDArray[np.int64]:
    """Return what the best none, one, two … `most` of each row add up to: (rows, most + 1)."""
    best_first = np.sort(_top(gains, most), axis=1)[:, ::-1]
    return np.pad(np.cumsum(best_first, axis=1), ((0, 0), (1, 0)))
