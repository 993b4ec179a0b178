"""Stitch counts against closed forms and against worked examples that knitters published.

Worked examples, as read in stored copies of the pages:
- "Math for doilies and shawls, part 2" (weblog article, October 2006): 16 rounds from 8 stitches,
  8 more every other round from round 3; 576 stitches, 160 (28 %) after round 8, 288 after 11.
- "Math: it really works!" (weblog article, October 2013): from 1 stitch, one more every other row,
  up to the first row of 139: 19,321 stitches.
- A weblog article on a circle growing by 16 every 4 rounds: round 138 of 234 is 35 %, by the rule
  (row / rows) squared.
- A weblog article on a wedge from 4 to 79 stitches in 150 rows: 6,225 by the trapezoid rule.
- "Shawl Shaping 101: Top-Down Half Pi" (weblog article): from 9 stitches 8, 12, 24, 48, 96 and 192
  more, the later ones by "k3, *inc, k1; repeat to the last 2 sts, k2".
- "Shawl Geometry: Pi Circles" and "Shawl Geometry: Crescents" (weblog articles, 2013): 6 stitches
  doubled to 768 over 1, 2, 4 ... 64 rounds; a crescent of 8 more every two rows, 13 to 61.
- E. Zimmermann (1974), Knitter's Almanac, the pi shawl: 9 stitches doubled to 576 with 3, 6, 12,
  24, 48 rounds between; from memory, the first of them confirmed in an article.
"""

from fractions import Fraction
from itertools import pairwise

import pytest

from schedule.pattern.errors import BadCount, BadRepeat, RowOutOfRange
from schedule.pattern.stitches import (
    BindOff,
    CastOn,
    Section,
    ShortRows,
    StitchRepeat,
    repeated,
    row_at,
    row_shares,
    share_after,
    stitches_by_letter,
    total_rows,
    total_stitches,
)

DOILY = (Section("Plain", 8, 2), Section("Growing", 8, 14, changes=(8, 0)))


def test_agrees_with_the_published_doily():
    assert total_stitches(DOILY) == 576
    assert share_after(DOILY, 8) == Fraction(160, 576)
    assert share_after(DOILY, 11) == Fraction(1, 2)
    assert round(100 * share_after(DOILY, 8)) == 28


def test_agrees_with_the_published_count_of_a_slow_wedge():
    wedge = Section("Wedge", 0, 277, changes=(1, 0))
    assert (wedge.end, total_stitches([wedge])) == (139, 19_321)


def test_agrees_with_the_published_trapezoid_to_half_a_row_of_stitches():
    """The trapezoid rule takes the mean of first and last; the rows themselves end on 79."""
    wedge = Section("Wedge", 4, 150, changes=(0, 1))
    assert wedge.end == 79
    assert abs(total_stitches([wedge]) - 6_225) <= 79 / 2


@pytest.mark.parametrize(("row", "rows", "per_cent"), [(138, 234, 35), (140, 236, 35)])
def test_row_of_a_triangle_is_its_share_squared(row, rows, per_cent):
    triangle = [Section("Triangle", 0, rows, changes=(4, 0))]
    assert round(100 * share_after(triangle, row)) == per_cent


@pytest.mark.parametrize(("start", "increase", "pairs"), [(3, 4, 60), (9, 4, 118), (13, 8, 6)])
def test_agrees_with_the_arithmetic_series(start, increase, pairs):
    """Two rows at each of start + d, start + 2d, ...: 2 (n start + d n (n + 1) / 2)."""
    section = Section("Triangle", start, 2 * pairs, changes=(increase, 0))
    assert section.end == start + increase * pairs
    assert total_stitches([section]) == 2 * pairs * start + increase * pairs * (pairs + 1)


def test_agrees_with_the_published_crescent_worked_back_from_its_hem():
    hem_in = Section("Crescent", 61, 12, changes=(0, -8), states_end=13)
    assert hem_in.end == 13


def pi_circle(first, between):
    """Sections of a circle whose stitches double before each stretch of plain rounds."""
    parts, count = [], first
    for number, rounds in enumerate(between):
        if number:
            parts.append(Section(f"Doubling {number}", count, 1, changes=(count,)))
            count *= 2
        parts.append(Section(f"Ring {number}", count, rounds))
    return parts


def test_agrees_with_the_published_pi_circles():
    short = pi_circle(6, [1, 2, 4, 8, 16, 32, 64])
    assert [part.end for part in short if part.name.startswith("Ring")] == [
        6, 12, 24, 48, 96, 192, 384
    ]  # fmt: skip
    long = pi_circle(9, [1, 3, 6, 12, 24, 48, 96])
    assert long[-1].end == 576
    # Each ring has four times the last one's stitches: twice the rounds of twice the count.
    rings = [total_stitches([part]) for part in long if part.name.startswith("Ring")][1:]
    assert [after / before for before, after in pairwise(rings)] == [4] * 5


def test_half_circle_makes_the_published_increases():
    """Each later increase row makes one stitch for every stitch but the five at the edges."""
    count, made = 9 + 8, [8]
    for _ in range(5):
        row = Section("Increase row", count, 1, changes=(count - 5,))
        made.append(row.end - row.start)
        count = row.end
    assert made == [8, 12, 24, 48, 96, 192]


SHAWL = (
    CastOn("Cast on", 9),
    Section("Body", 9, 6, changes=(4, 0), letters="AAB"),
    ShortRows("Turns", 21, (18, 15, 12), letters="B"),
    BindOff("Bind off", 21, letters="C"),
)


def test_every_kind_of_part_counts_its_rows():
    assert total_rows(SHAWL) == 1 + 6 + 3 + 1
    assert total_stitches(SHAWL) == 9 + (13 + 13 + 17 + 17 + 21 + 21) + (18 + 15 + 12) + 21
    assert [part.end for part in SHAWL] == [9, 21, 21, 0]


def test_stripes_come_round_within_a_part_and_start_anew_in_the_next():
    assert stitches_by_letter(SHAWL) == {
        "A": 9 + 13 + 13 + 17 + 21,
        "B": 17 + 21 + 18 + 15 + 12,
        "C": 21,
    }


def test_shares_and_rows_are_each_others_inverse():
    shares = row_shares(SHAWL)
    assert sum(shares) == 1
    for row in range(total_rows(SHAWL) + 1):
        assert row_at(SHAWL, share_after(SHAWL, row)) == row


def test_a_share_between_rows_is_reached_by_the_row_that_passes_it():
    assert row_at(DOILY, 0.5) == 11
    assert row_at(DOILY, 0.5001) == 12
    assert (row_at(DOILY, 0), row_at(DOILY, 1)) == (0, 16)


def test_a_repeated_section_carries_its_growth_on():
    lace = Section("Lace", 13, 4, changes=(4, 0), letters="AB")
    assert repeated(lace, 3) == Section("Lace", 13, 12, changes=(4, 0), letters="AB")
    assert repeated(lace, 3).end == 13 + 3 * 8


def test_a_repeat_knows_which_counts_fit():
    """The published example: a multiple of 15 plus 18 for about 214 stitches."""
    repeat = StitchRepeat(15, edge=18)
    assert repeat.nearest(214) == (213, 228)
    assert repeat.fits(213)
    assert not repeat.fits(214)
    assert not repeat.fits(3)


REFUSALS = [
    (lambda: Section("Hem", -1, 4), BadCount, "Hem: -1 stitches at the start; it must be 0"),
    (lambda: Section("Hem", 9, -4), BadCount, "Hem: -4 rows; it must be 0 or more."),
    (lambda: Section("Tip", 5, 4, changes=(-2,)), BadCount, "Tip: row 3 would be left with -1"),
    (lambda: Section("Tip", 5, 4, changes=()), BadCount, "no change per row; write 0"),
    (lambda: Section("Tip", 5, 4, letters=""), BadCount, "no colour letter"),
    (lambda: ShortRows("Turns", 20, (18, 21)), BadCount,
     "short row 2 works 21 stitches; there are 20 on the needle."),
    (lambda: ShortRows("Turns", 20, (0,)), BadCount, "short row 1 works 0 stitches"),
    (lambda: BindOff("End", -3), BadCount, "End: -3 stitches"),
    (lambda: StitchRepeat(0), BadRepeat, "A repeat of 0 stitches"),
    (lambda: repeated(Section("Lace", 9, 3, changes=(4, 0)), 2), BadRepeat,
     "3 rows do not end where its changes or stripes"),
    (lambda: share_after(DOILY, 17), RowOutOfRange, "Row 17 is not in this pattern; it has rows 1"),
    (lambda: share_after(DOILY, -1), RowOutOfRange, "Row -1"),
    (lambda: row_at(DOILY, 1.2), RowOutOfRange, "A share of 1.2"),
    (lambda: row_at(DOILY, float("nan")), RowOutOfRange, "A share of nan"),
    (lambda: row_shares([]), BadCount, "not a stitch in this pattern"),
    (lambda: row_shares([Section("Nothing", 0, 4)]), BadCount, "not a stitch"),
]  # fmt: skip


@pytest.mark.parametrize(("act", "refusal", "words"), REFUSALS)
def test_refuses_what_no_knitting_has(act, refusal, words):
    with pytest.raises(refusal, match=words.replace(".", r"\.")):
        act()
