"""The letter plan: best assignment, runner-up, ties, overrides and refusals."""

from dataclasses import replace

import numpy as np
import pytest

from palettes.colour.contrast import STRONG_FROM, WORKABLE_FROM, Grade, compare
from palettes.colour.errors import BadMeeting, TooFewYarns, TooManyYarns
from palettes.colour.letters import Meeting, assess, plan_letters, plan_many
from palettes.colour.spaces import Lab, hex_to_lab
from palettes.colour.swatch import Fabric, Need, Swatch

CHALK = Swatch("Chalk", hex_to_lab("#f2efe6"))
SOOT = Swatch("Soot", hex_to_lab("#23201f"))
MOSS = Swatch("Moss", hex_to_lab("#6b7a2f"))
FERN = Swatch("Fern", hex_to_lab("#5f7a3a"))
GREYS = [Swatch(f"grey {level}", Lab(level, 0.0, 0.0)) for level in (20.0, 40.0, 60.0, 80.0)]


def strong(*pairs):
    return [Meeting(pair[0], pair[1], Grade.STRONG) for pair in pairs]


def test_near_colours_are_kept_apart():
    """Only A meets B and C; the two greens must not be A and one of those."""
    plan = plan_letters([MOSS, FERN, CHALK], strong("AB", "AC"))
    assert plan.best.yarns == (2, 0, 1)
    assert plan.best.reads


def test_margin_is_what_is_left_over_what_is_needed():
    meetings = [Meeting("A", "B", Grade.WORKABLE)]
    best = plan_letters([CHALK, SOOT], meetings).best
    (outcome,) = best.outcomes
    left = compare(CHALK, SOOT, Fabric()).left
    assert outcome.left == pytest.approx(left)
    assert outcome.margin == pytest.approx(left - WORKABLE_FROM) == best.worst_margin


def test_a_meeting_reads_when_its_grade_is_the_needed_or_better():
    far, near = assess([CHALK, SOOT, MOSS, FERN], strong("AB", "CD"), [0, 1, 2, 3]).outcomes
    assert (far.reads, far.grade) == (True, Grade.STRONG)
    assert not near.reads
    assert near.margin == pytest.approx(compare(MOSS, FERN, Fabric()).left - STRONG_FROM)


def test_the_worst_margin_comes_first_and_then_the_rest():
    """All that is asked is A-B strong and B-C close, so the widest step goes to A-B."""
    meetings = [Meeting("A", "B", Grade.STRONG), Meeting("B", "C", Grade.CLOSE)]
    plan = plan_letters(GREYS[:3], meetings)
    outcomes = [outcome.margin for outcome in plan.best.outcomes]
    others = [
        sorted(o.margin for o in assess(GREYS[:3], meetings, yarns).outcomes)
        for yarns in ([0, 1, 2], [0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0])
    ]
    assert sorted(outcomes) == max(others)


def test_equal_assignments_keep_the_palettes_order():
    plan = plan_letters([CHALK, SOOT], strong("AB"))
    assert plan.best.yarns == (0, 1)
    assert plan.runner_up is not None
    assert plan.runner_up.yarns == (1, 0)
    assert plan.equally_good == 2


def test_without_meetings_the_palettes_own_order_is_kept():
    plan = plan_letters([CHALK, SOOT, MOSS], [])
    assert plan.best.yarns == (0, 1, 2)
    assert plan.best.worst_margin is None
    assert plan.equally_good == 6


def test_fewer_letters_than_yarns_leaves_the_weakest_out():
    plan = plan_letters([MOSS, FERN, CHALK], strong("AB"), letters=2)
    assert plan.best.worst_margin == pytest.approx(
        max(compare(CHALK, green, Fabric()).left for green in (MOSS, FERN)) - STRONG_FROM
    )


def test_fixed_letters_are_honoured():
    plan = plan_letters([MOSS, FERN, CHALK], strong("AB", "AC"), fixed={"A": 0})
    assert plan.best.yarns[0] == 0
    assert not plan.best.reads


def test_fixing_every_letter_leaves_no_runner_up():
    plan = plan_letters([MOSS, CHALK], strong("AB"), fixed={"A": 1, "B": 0})
    assert plan.best.yarns == (1, 0)
    assert plan.runner_up is None


def test_the_strictest_of_two_meetings_of_the_same_letters_counts():
    meetings = [Meeting("A", "B", Grade.CLOSE), Meeting("B", "A", Grade.STRONG)]
    (outcome,) = plan_letters([CHALK, SOOT], meetings).best.outcomes
    assert outcome.meeting.needs is Grade.STRONG


def test_many_palettes_at_once_get_the_plans_they_get_alone():
    rng = np.random.default_rng(8)
    labs = np.stack([rng.uniform(10, 95, (60, 5)), *rng.normal(0, 25, (2, 60, 5))], axis=-1)
    textures = np.array([0.0, 4.0, 9.0])[rng.integers(0, 3, (60, 5))]
    meetings = [
        Meeting("A", "B", Grade.STRONG),
        Meeting("B", "C", Grade.WORKABLE),
        Meeting("C", "E", Grade.CLOSE),
        Meeting("A", "D", Grade.WORKABLE),
    ]
    many = plan_many(labs, textures, meetings)
    for row in range(60):
        yarns = [
            Swatch(str(i), Lab(*labs[row, i].tolist()), spread=textures[row, i]) for i in range(5)
        ]
        best = plan_letters(yarns, meetings).best
        assert tuple(many.yarns[row]) == best.yarns
        assert many.margins[row] == pytest.approx([o.margin for o in best.outcomes], abs=1e-9)


def test_no_palettes_get_no_plans():
    many = plan_many(np.zeros((0, 3, 3)), np.zeros((0, 3)), strong("AB"))
    assert many.yarns.shape == (0, 3)
    assert many.margins.shape == (0, 1)


def test_many_palettes_without_meetings_keep_their_order():
    many = plan_many(np.full((2, 3, 3), 50.0), np.zeros((2, 3)), [])
    assert many.yarns.tolist() == [[0, 1, 2]] * 2


@pytest.mark.parametrize(
    ("first", "second", "needs", "message"),
    [
        ("A", "A", Grade.CLOSE, "A cannot meet itself; name two letters."),
        ("A", "I", Grade.CLOSE, "'I' is not a letter of a palette; use A to H."),
        ("", "B", Grade.CLOSE, "'' is not a letter of a palette; use A to H."),
        ("AB", "C", Grade.CLOSE, "'AB' is not a letter of a palette; use A to H."),
        ("A", "B", Grade.LOST, "cannot need .*lost.*; strong, workable or close will do."),
    ],
)
def test_refuses_meetings_that_cannot_be(first, second, needs, message):
    with pytest.raises(BadMeeting, match=message):
        Meeting(first, second, needs)


@pytest.mark.parametrize(
    ("yarns", "letters", "fixed", "error", "message"),
    [
        (3, 4, {}, TooFewYarns, "3 yarns given for 4 letters; each needs its own."),
        (9, None, {}, TooManyYarns, "9 yarns given; a palette has at most 8."),
        (3, 1, {}, BadMeeting, "1 letter; a plan is for 2 to 8."),
        (3, 2, {}, BadMeeting, "A-C meet, but the last letter is B."),
        (3, 3, {"D": 0}, BadMeeting, "'D' is fixed, but the letters are A to C."),
        (3, 3, {"A": 3}, BadMeeting, "A is fixed to yarn 4; there are 3."),
        (3, 3, {"A": 1, "B": 1}, BadMeeting, "Two letters are fixed to the same yarn"),
    ],
)
def test_refuses_letters_and_yarns_that_do_not_fit(yarns, letters, fixed, error, message):
    with pytest.raises(error, match=message):
        plan_letters([CHALK] * yarns, strong("AC"), letters=letters, fixed=fixed)


@pytest.mark.parametrize("yarns", [[0, 0], [0, 2], [-1, 0]])
def test_refuses_a_choice_of_yarns_that_are_not_there(yarns):
    with pytest.raises(BadMeeting, match="not different ones out of the 2 given"):
        assess([CHALK, SOOT], strong("AB"), yarns)


class TestAmounts:
    """Enough yarn counts before contrast while every meeting reads, and never against one."""

    NEEDS = (Need("A", 80, 320), Need("B", 40, 160))

    @staticmethod
    def bought(swatch, balls):
        return replace(swatch, put_up_grams=50, put_up_metres=200, balls=balls)

    def test_the_letter_that_takes_most_gets_a_yarn_there_is_enough_of(self):
        """Two ways are as good by contrast; the palette's own order would be 30 g short."""
        yarns = [self.bought(CHALK, 1), self.bought(SOOT, 2)]
        assert plan_letters(yarns, strong("AB")).best.yarns == (0, 1)
        plan = plan_letters(yarns, strong("AB"), needs=self.NEEDS)
        assert (plan.best.yarns, plan.best.short) == ((1, 0), ())
        assert plan.equally_good == 1
        assert plan.runner_up is not None
        (line,) = plan.runner_up.short
        assert (line.letter, line.yarn, line.balls_short) == ("A", 0, 1)
        assert line.grams_short == 30
        assert line.metres_short == 120

    def test_a_better_contrast_gives_way_to_enough_yarn_while_everything_reads(self):
        meetings = [Meeting("A", "B", Grade.WORKABLE)]
        yarns = [self.bought(GREYS[0], 1), self.bought(GREYS[2], 2), self.bought(GREYS[3], 1)]
        by_contrast = plan_letters(yarns, meetings, letters=2).best
        plan = plan_letters(yarns, meetings, letters=2, needs=self.NEEDS)
        assert set(by_contrast.yarns) == {0, 2}
        assert plan.best.yarns == (1, 0)
        assert plan.best.reads

    def test_no_meeting_is_given_up_to_save_a_ball(self):
        """Only Moss suffices for A, but beside Fern it would be lost, so the plan buys Chalk."""
        yarns = [self.bought(MOSS, 2), self.bought(FERN, 1), self.bought(CHALK, 1)]
        meetings = strong("AB", "AC")
        best = plan_letters(yarns, meetings, needs=self.NEEDS).best
        assert best.yarns == plan_letters(yarns, meetings).best.yarns == (2, 0, 1)
        assert [line.yarn for line in best.short] == [2]

    def test_a_yarn_without_its_band_is_not_short(self):
        yarns = [replace(CHALK, balls=1), self.bought(SOOT, 2)]
        best = plan_letters(yarns, strong("AB"), needs=self.NEEDS).best
        assert (best.yarns, best.short) == ((0, 1), ())

    def test_ones_own_choice_stands_and_is_told_what_is_short(self):
        yarns = [self.bought(CHALK, 1), self.bought(SOOT, 2)]
        own = assess(yarns, strong("AB"), [0, 1], needs=self.NEEDS)
        assert own.yarns == (0, 1)
        assert [line.letter for line in own.short] == ["A"]
