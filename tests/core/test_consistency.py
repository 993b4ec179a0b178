"""The contradictions a technical editor looks for, each named with both of its numbers."""

from schedule.pattern.consistency import Fault, find_problems
from schedule.pattern.stitches import BindOff, CastOn, Part, Section, ShortRows, StitchRepeat


def test_a_pattern_whose_numbers_agree_has_no_problems():
    parts: list[Part] = [
        CastOn("Cast on", 9),
        Section("Body", 9, 24, changes=(4, 0), repeat=StitchRepeat(4, edge=1, rows=6)),
        ShortRows("Turns", 57, (50, 44)),
        Section("Hem", 57, 4, states_end=57),
        BindOff("Bind off", 57),
    ]
    assert find_problems(parts) == ()


def test_names_both_counts_where_two_sections_do_not_meet():
    parts: list[Part] = [Section("Water", 9, 10, changes=(4, 0)), Section("Windows", 31, 4)]
    (problem,) = find_problems(parts)
    assert (problem.fault, problem.section) == (Fault.COUNT_MISMATCH, "Windows")
    assert (problem.found, problem.expected) == (31, 29)
    assert problem.words() == "Water ends with 29 stitches, but Windows starts with 31."


def test_names_a_count_the_text_promises_and_the_rows_do_not_keep():
    (problem,) = find_problems([Section("Water", 9, 10, changes=(4, 0), states_end=31)])
    assert problem.fault is Fault.STATED_END
    assert problem.words() == (
        "Water says it ends with 31 stitches; its 10 rows from 9 stitches end with 29."
    )


def test_a_promise_of_no_stitches_is_checked_too():
    (problem,) = find_problems([Section("Tip", 4, 3, changes=(-1,), states_end=0)])
    assert (problem.found, problem.expected) == (0, 1)


def test_names_the_row_whose_count_the_repeat_does_not_divide():
    """12 stitches a repeat, but 8 more by the next time it begins."""
    parts: list[Part] = [
        Section("Lace", 27, 12, changes=(2, 0), repeat=StitchRepeat(12, edge=3, rows=8))
    ]
    problems = find_problems(parts)
    assert [problem.fault for problem in problems] == [Fault.REPEAT_ROWS, Fault.REPEAT_STITCHES]
    assert problems[0].words() == ("Lace has 12 rows, which is not a multiple of its 8-row repeat.")
    assert problems[1].words() == (
        "Lace has 35 stitches at row 9, which is not a multiple of 12 plus 3; 27 or 39 would be."
    )


def test_a_repeat_without_an_edge_is_named_without_one():
    (problem,) = find_problems([Section("Rib", 30, 2, repeat=StitchRepeat(4))])
    assert "30 stitches at row 1, which is not a multiple of 4; 28 or 32" in problem.words()


def test_finds_every_problem_in_the_patterns_order():
    parts: list[Part] = [
        Section("One", 9, 2, states_end=10),
        Section("Two", 11, 2, repeat=StitchRepeat(4)),
        BindOff("Bind off", 12),
    ]
    assert [(each.section, each.fault) for each in find_problems(parts)] == [
        ("One", Fault.STATED_END),
        ("Two", Fault.COUNT_MISMATCH),
        ("Two", Fault.REPEAT_STITCHES),
        ("Bind off", Fault.COUNT_MISMATCH),
    ]
