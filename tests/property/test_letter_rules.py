"""The letter plan agrees with trying every assignment in plain Python."""

from decimal import Decimal
from itertools import combinations, permutations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from palettes.colour.contrast import Grade, compare
from palettes.colour.letter_amounts import held_of
from palettes.colour.letters import ALPHABET, NEEDS, Meeting, plan_letters, plan_many
from palettes.colour.spaces import Lab
from palettes.colour.swatch import Fabric, Need, Swatch

# Few colours, so that ties are common.
labs = st.builds(
    Lab,
    st.sampled_from([20.0, 45.0, 50.0, 90.0]),
    st.sampled_from([-30.0, 0.0, 30.0]),
    st.sampled_from([0.0, 40.0]),
)
swatches = st.builds(
    Swatch,
    st.just("yarn"),
    labs,
    st.sampled_from([0.0, 8.0]),
    put_up_grams=st.sampled_from([None, 25.0, 50.0, 100.0]),
    put_up_metres=st.sampled_from([None, 100.0, 200.0, 43.5]),
    balls=st.sampled_from([None, 0.0, 1.0, 1.5, 2.0, 2.3]),
)
grades = st.sampled_from(list(NEEDS))


@st.composite
def questions(draw):
    """A palette of 2 to 5 yarns and some meetings of its letters, a pair at most once."""
    palette = draw(st.lists(swatches, min_size=2, max_size=5))
    letters = draw(st.integers(2, len(palette)))
    pairs = list(combinations(ALPHABET[:letters], 2))
    met = draw(st.lists(st.sampled_from(pairs), unique=True))
    return palette, letters, [Meeting(one, two, draw(grades)) for one, two in met]


@st.composite
def needs_of(draw, letters):
    """What some of the letters take, often just what some yarns hold."""
    told = draw(st.lists(st.sampled_from(ALPHABET[:letters]), unique=True))
    amounts = st.tuples(
        st.sampled_from([25.0, 50.0, 75.0, 115.0]), st.sampled_from([100.05, 150.0])
    )
    return [Need(letter, *draw(amounts)) for letter in told]


def plain_enough(palette, yarns, needs):
    """Say whether no yarn is known to fall short of its letter, in decimals."""
    for need in needs:
        swatch = palette[yarns[ALPHABET.index(need.letter)]]
        for put_up, asked in (
            (swatch.put_up_grams, need.grams),
            (swatch.put_up_metres, need.metres),
        ):
            if swatch.balls is None or put_up is None:
                continue
            if Decimal(str(swatch.balls)) * Decimal(str(put_up)) < Decimal(str(asked)):
                return False
    return True


def plain_margin(palette, yarns, meeting):
    first, second = (palette[yarns[ALPHABET.index(letter)]] for letter in meeting.pair)
    pair = compare(first, second, Fabric())
    left = pair.left_at_arm if meeting.needs is Grade.CLOSE else pair.left
    return left - NEEDS[meeting.needs]


def plain_order(palette, letters, meetings, needs=()):
    """Return every assignment, best first; equal ones in the palette's order.

    First those with enough of every yarn in which every meeting reads; then by contrast.
    """

    def merit(yarns):
        margins = sorted(round(plain_margin(palette, yarns, meeting), 6) for meeting in meetings)
        is_enough = plain_enough(palette, yarns, needs)
        is_both = is_enough and all(margin >= 0 for margin in margins)
        return not is_both, _negate(margins), not is_enough, yarns

    return sorted(permutations(range(len(palette)), letters), key=merit)


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

    @given(questions(), st.data())
    @settings(max_examples=100, deadline=None)
    def test_with_amounts_it_equals_brute_force_one_by_one_and_many_at_once(self, question, data):
        palette, letters, meetings = question
        needs = data.draw(needs_of(letters))
        first, second, *_ = plain_order(palette, letters, meetings, needs)
        plan = plan_letters(palette, meetings, letters=letters, needs=needs)
        assert plan.runner_up is not None
        assert (plan.best.yarns, plan.runner_up.yarns) == (first, second)
        assert (plan.best.short == ()) == plain_enough(palette, first, needs)
        many = plan_many(
            np.array([[swatch.lab for swatch in palette]]),
            np.array([[swatch.texture for swatch in palette]]),
            meetings,
            letters=letters,
            held=held_of(palette)[np.newaxis],
            needs=needs,
        )
        assert tuple(many.yarns[0]) == first
        assert many.margins[0].tolist() == [outcome.margin for outcome in plan.best.outcomes]

    @given(questions(), st.data())
    @settings(max_examples=60, deadline=None)
    def test_where_nothing_is_known_of_amounts_nothing_changes(self, question, data):
        palette, letters, meetings = question
        bare = [Swatch("yarn", swatch.lab, swatch.spread) for swatch in palette]
        needs = data.draw(needs_of(letters))
        told, untold = (
            plan_letters(bare, meetings, letters=letters, needs=each) for each in (needs, ())
        )
        assert told.best.yarns == untold.best.yarns
        assert told.equally_good == untold.equally_good
        assert told.best.short == ()

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
