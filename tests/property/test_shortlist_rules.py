"""The shortlist agrees with looking at every set, one by one, in plain Python."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from palettes.colour.contrast import STRONG_FROM, compare
from palettes.colour.families import Family, families_of
from palettes.colour.ladder import lightness_word
from palettes.colour.shortlist import (
    AIM_SHARE,
    ANSWERS,
    BOLD_FROM_CHROMA,
    DIFFERENT_YARNS,
    LADDER_SHARE,
    PAIRS_SHARE,
    PLENTY_SHARE,
    SOFT_TO_CHROMA,
    WORST_SHARE,
    Aim,
    most_accents,
    shortlist,
)
from palettes.colour.shortlist_search import Points, best_sets
from palettes.colour.spaces import Lab, chroma
from palettes.colour.swatch import Fabric, Swatch

# Few values, so that ties are common.
small = st.integers(0, 5)


@st.composite
def questions(draw):
    """Points with integers small enough to tie, a choice, locked yarns and how many to keep."""
    count = draw(st.integers(2, 9))
    choose = draw(st.integers(2, min(count, 6)))
    locked = draw(st.lists(st.integers(0, count - 1), unique=True, max_size=choose))

    def whole(*shape):
        values = draw(st.lists(small, min_size=int(np.prod(shape)), max_size=int(np.prod(shape))))
        return np.array(values, dtype=np.int32).reshape(shape)

    points = Points(
        pair=symmetric(whole(count, count)),
        worst=symmetric(whole(count, count)),
        yarn=whole(count),
        rung=np.array([1, 2, 4], dtype=np.int32)[whole(count) % 3],
        rungs=whole(8),
        in_group=whole(count) % 2,
        grouped=whole(choose + 1) - 2,
    )
    return points, choose, sorted(locked), draw(st.integers(1, 30))


def symmetric(matrix):
    return np.triu(matrix, 1) + np.triu(matrix, 1).T


def plain_score(points, members):
    pairs = list(combinations(members, 2))
    rungs = 0
    for yarn in members:
        rungs |= int(points.rung[yarn])
    return (
        sum(int(points.pair[pair]) for pair in pairs)
        + min(int(points.worst[pair]) for pair in pairs)
        + sum(int(points.yarn[yarn]) for yarn in members)
        + int(points.rungs[rungs])
        + int(points.grouped[sum(int(points.in_group[yarn]) for yarn in members)])
    )


class TestSearch:
    """The best sets, their scores and their order are those of a plain sorted list."""

    @given(questions())
    @settings(max_examples=300)
    def test_equals_brute_force(self, question):
        points, choose, locked, keep = question
        every = [
            members
            for members in combinations(range(len(points.yarn)), choose)
            if set(locked) <= set(members)
        ]
        every.sort(key=lambda members: (-plain_score(points, members), members))
        found = best_sets(points, choose, locked, keep)
        assert [tuple(row) for row in found.members.tolist()] == every[:keep]
        assert found.scores.tolist() == [plain_score(points, each) for each in every[:keep]]


labs = st.builds(Lab, st.floats(5, 95), st.floats(-50, 60), st.floats(-60, 60))
swatches = st.builds(Swatch, st.just("yarn"), labs, st.sampled_from([0.0, 3.0, 9.0]))


def reads(first, second):
    left = compare(first, second, Fabric()).left / STRONG_FROM
    return (1 - PLENTY_SHARE) * min(left, 1) + PLENTY_SHARE * min(left / 2, 1)


def aim_merit(members, aim):
    families = [families_of(swatch.lab) for swatch in members]
    chromas = [chroma(swatch.lab) for swatch in members]
    count = len(members)
    bold = [min(value / BOLD_FROM_CHROMA, 1) for value in chromas]
    if aim is Aim.ONE_FAMILY:
        return np.mean([bool(set(one) & set(two)) for one, two in combinations(families, 2)])
    if aim is Aim.BOLD:
        return np.mean(bold)
    if aim is Aim.SOFT:
        span = BOLD_FROM_CHROMA - SOFT_TO_CHROMA
        return np.mean([1 - min(max((value - SOFT_TO_CHROMA) / span, 0), 1) for value in chromas])
    if aim is Aim.ACCENTED_NEUTRALS:
        accents = [i for i in range(count) if families[i][0] is not Family.NEUTRAL]
        spare = max(len(accents) - most_accents(count), 0)
        off = spare + (not accents)
        boldness = (sum(bold[i] for i in accents) - spare) / most_accents(count)
        return 0.75 * max(1 - off / 2, 0) + 0.25 * boldness
    return 0


def plain_merit(members, aim):
    """The score as docs/shortlist.md words it."""
    pairs = [reads(one, two) for one, two in combinations(members, 2)]
    rungs = len({lightness_word(swatch.lab.l) for swatch in members})
    merit = (
        WORST_SHARE * min(pairs)
        + PAIRS_SHARE * np.mean(pairs)
        + LADDER_SHARE * min(rungs / min(len(members), 3), 1)
        + AIM_SHARE * aim_merit(members, aim)
    )
    return max(merit / (1 - AIM_SHARE if aim is Aim.CONTRAST else 1), 0)


class TestShortlist:
    """Each answer is the best there is that differs enough from those before it."""

    @given(st.lists(swatches, min_size=3, max_size=7), st.integers(2, 4), st.sampled_from(Aim))
    @settings(max_examples=60, deadline=None)
    def test_equals_brute_force(self, candidates, choose, aim):
        choose = min(choose, len(candidates))
        merits = {
            members: plain_merit([candidates[yarn] for yarn in members], aim)
            for members in combinations(range(len(candidates)), choose)
        }
        answers = shortlist(candidates, choose=choose, aim=aim)
        assert len(answers) == min(ANSWERS, len(merits))
        for answer in answers:
            assert answer.score == pytest.approx(merits[answer.yarns], abs=1e-4)
        self.check_order(answers, merits, choose)

    @staticmethod
    def check_order(answers, merits, choose):
        taken: list[tuple[int, ...]] = []
        for answer in answers:
            apart = [
                merit
                for members, merit in merits.items()
                if all(len(set(members) - set(each)) >= DIFFERENT_YARNS for each in taken)
            ]
            if not apart:
                return
            if all(len(set(answer.yarns) - set(each)) >= DIFFERENT_YARNS for each in taken):
                assert answer.score == pytest.approx(max(apart), abs=1e-4)
                taken.append(answer.yarns)

    @given(st.lists(swatches, min_size=4, max_size=6), st.randoms())
    @settings(max_examples=30, deadline=None)
    def test_order_of_candidates_does_not_change_the_best_score(self, candidates, random):
        shuffled = random.sample(candidates, len(candidates))
        one, other = (shortlist(each, choose=3)[0].score for each in (candidates, shuffled))
        assert one == pytest.approx(other, abs=1e-5)
