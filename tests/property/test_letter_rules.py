"""The letter plan agrees with trying every assignment in plain Python."""

from itertools import combinations, permutations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from palettes.colour.contrast import Grade, compare
from palettes.colour.letters import ALPHABET, NEEDS, Meeting, plan_letters, plan_many
from palettes.colour.spaces import Lab
from palettes.colour.swatch import Fabric, Swatch

# Few colours, so that ties are common.
labs = st.builds(
    Lab,
    st.sampled_from([20.0, 45.0, 50.0, 90.0]),
    st.sampled_from([-30.0, 0.0, 30.0]),
    st.sampled_from([0.0, 40.0]),
)
swatches = st.builds(Swatch, st.just("yarn"), labs, st.sampled_from([0.0, 8.0]))
grades = st.sampled_from(list(NEEDS))


@st.composite
def questions(draw):
    """A palette of 2 to 5 yarns and some meetings of its letters, a pair at most once."""
    palette = draw(st.lists(swatches, min_size=2, max_size=5))
    letters = draw(st.integers(2, len(palette)))
    pairs = list(combinations(ALPHABET[:letters], 2))
    met = draw(st.lists(st.sampled_from(pairs), unique=True))
    return palette, letters, [Meeting(one, two, draw(grades)) for one, two in met]


def plain_margin(palette, yarns, meeting):
    first, second = (palette[yarns[ALPHABET.index(letter)]] for letter in meeting.pair)
    pair = compare(first, second, Fabric())
    left = pair.left_at_arm if meeting.needs is Grade.CLOSE else pair.left
    return left - NEEDS[meeting.needs]


def plain_order(palette, letters, meetings):
    """Return every assignment, best first; equal ones in the palette's order."""

    def merit(yarns):
        margins = (plain_margin(palette, yarns, meeting) for meeting in meetings)
        return sorted(round(margin, 6) for margin in margins)

    return sorted(
        permutations(range(len(palette)), letters), key=lambda yarns: (_negate(merit(yarns)), yarns)
    )


def _negate(margins):
    return [-margin for margin in margins]


class TestLetterPlan:
    """Best and runner-up are the first two of all assignments, sorted."""

    @given(questions())
    @settings(max_examples=60, deadline=None)
    def test_equals_brute_force(self, question):
        palette, letters, meetings = question
        first, second, *_ = plain_order(palette, letters, meetings)
        plan = plan_letters(palette, meetings, letters=letters)
        assert plan.best.yarns == first
        assert plan.runner_up is not None
        assert plan.runner_up.yarns == second

    @given(questions())
    @settings(max_examples=60, deadline=None)
    def test_many_at_once_equals_one_by_one(self, question):
        palette, letters, meetings = question
        colours = np.array([[swatch.lab for swatch in palette]])
        textures = np.array([[swatch.texture for swatch in palette]])
        many = plan_many(colours, textures, meetings, letters=letters)
        best = plan_letters(palette, meetings, letters=letters).best
        assert tuple(many.yarns[0]) == best.yarns

    @given(questions(), st.randoms())
    @settings(max_examples=30, deadline=None)
    def test_order_of_meetings_and_of_their_letters_does_not_matter(self, question, random):
        palette, letters, meetings = question
        turned = [Meeting(m.second, m.first, m.needs) for m in meetings]
        random.shuffle(turned)
        plans = [plan_letters(palette, each, letters=letters) for each in (meetings, turned)]
        assert plans[0].best.yarns == plans[1].best.yarns
        assert plans[0].equally_good == plans[1].equally_good

    @given(questions())
    @settings(max_examples=30, deadline=None)
    def test_asking_for_less_never_lowers_the_worst_margin(self, question):
        palette, letters, meetings = question
        eased = [Meeting(m.first, m.second, Grade.CLOSE) for m in meetings]
        strict, easy = (
            plan_letters(palette, each, letters=letters).best.worst_margin
            for each in (meetings, eased)
        )
        if strict is None or easy is None:
            assert strict is easy
        else:
            assert easy >= strict - 1e-6
