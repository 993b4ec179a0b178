"""The demo's patterns, knitted stitch by stitch on paper.

The rows are those of the clues' text; what a knit, a slip and a yarn over do to the count is
common practice.
"""

from itertools import pairwise

import pytest

from kal.demo.pattern import METRES_PER_GRAM, METRES_PER_STITCH, SCARF, SHAWL, Section, slip

PATTERNS = {"shawl": SHAWL, "scarf": SCARF}
BORDER = ["k"] * 3


def plain_row(count):
    half = (count - 7) // 2
    panel = ["k"] * half
    return [*BORDER, "yo", *panel, "yo", "k", "yo", *panel, "yo", *BORDER]


def slip_row(count):
    half = (count - 7) // 2
    panel = [*["k", "sl"] * (half // 2), "k"]
    return [*BORDER, "yo", *panel, "yo", "k", "yo", *panel, "yo", *BORDER]


def scarf_slip_row(count):
    return [*BORDER, *["k", "sl"] * ((count - 7) // 2), *["k"] * 4]


def consumed(row):
    return sum(stitch != "yo" for stitch in row)


@pytest.mark.parametrize("row_of", [plain_row, slip_row])
def test_shawl_rows_use_every_stitch_and_make_four(row_of):
    for count in range(SHAWL.cast_on, SHAWL.counts[-1], SHAWL.increase):
        row = row_of(count)
        assert consumed(row) == count
        assert len(row) == count + SHAWL.increase


def test_scarf_row_uses_every_stitch_and_makes_none():
    row = scarf_slip_row(SCARF.cast_on)
    assert consumed(row) == len(row) == SCARF.cast_on


def test_slipped_stitches_are_counted_as_the_row_slips_them():
    for count in range(SHAWL.cast_on, SHAWL.counts[-1], SHAWL.increase):
        assert SHAWL.slipped(count) == slip_row(count).count("sl")
    assert SCARF.slipped(61) == scarf_slip_row(61).count("sl")


def test_counts_are_those_of_ridge_after_ridge():
    count, reached = SHAWL.cast_on, [SHAWL.cast_on]
    for section in SHAWL.sections:
        for ridge in section.ridges:
            count = len(slip_row(count) if ridge.slips else plain_row(count))
        reached.append(count)
    assert SHAWL.counts == tuple(reached)


def test_grams_follow_from_the_stitches_worked():
    """A clue of two slip ridges from 121 stitches: both rows work all but the slipped ones."""
    pattern = type(SHAWL)(121, 4, 7, 2, (Section("", slip("B"), 2), Section("", slip("A"), 1)))
    worked = 0
    for count in (121, 125):
        slipped = slip_row(count).count("sl")
        worked += (len(slip_row(count)) - slipped) + (count - slipped)
    expected = worked * METRES_PER_STITCH / METRES_PER_GRAM
    assert pattern.grams(1) == {"B": pytest.approx(expected, abs=0.05)}


@pytest.mark.parametrize("name", PATTERNS)
def test_checkpoints_end_where_the_section_ends(name):
    pattern = PATTERNS[name]
    for number, (start, end) in enumerate(pairwise(pattern.counts), start=1):
        checkpoints = pattern.checkpoints(number)
        assert checkpoints[-1] == end
        assert checkpoints == sorted(checkpoints)
        assert start <= checkpoints[0]


@pytest.mark.parametrize("name", PATTERNS)
def test_needs_leave_something_to_spare_but_not_half_as_much_again(name):
    pattern = PATTERNS[name]
    clues = [pattern.grams(number) for number in range(1, len(pattern.sections) + 1)]
    for letter, need in pattern.needs().items():
        used = sum(grams.get(letter, 0) for grams in clues)
        assert used * 1.1 < need <= used * 1.15 + 5


@pytest.mark.parametrize("pattern", [SHAWL, SCARF])
def test_every_two_letters_on_neighbouring_ridges_meet_and_no_others(pattern):
    ridges = [ridge.letter for section in pattern.sections for ridge in section.ridges]
    start = 0
    for number, section in enumerate(pattern.sections, start=1):
        end = start + len(section.ridges)
        around = ridges[max(start - 1, 0) : end]
        pairs = {"".join(sorted(two)) for two in pairwise(around) if len(set(two)) == 2}
        assert set(pattern.meetings(number)) == pairs
        start = end


def test_slipped_stitches_ask_for_more_than_a_plain_change():
    assert SHAWL.meetings(1) == {}
    assert SHAWL.meetings(2) == {"AB": ("slipped stitches", "strong")}
    assert SHAWL.meetings(3) == {
        "AC": ("a plain change of colour", "close"),
        "CD": ("slipped stitches", "workable"),
    }
