"""What a technical editor checks before anybody casts on: that the counts meet and repeats fit."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from schedule.pattern.errors import BadRepeat, CountMismatch
from schedule.pattern.stitches import Part, Section, StitchRepeat


class Fault(StrEnum):
    """What can be wrong between the numbers of a pattern."""

    COUNT_MISMATCH = "count-mismatch"
    STATED_END = "stated-end"
    REPEAT_STITCHES = "repeat-stitches"
    REPEAT_ROWS = "repeat-rows"


@dataclass(frozen=True, slots=True)
class Problem:
    """One contradiction: where, the two numbers that disagree, and a sentence with both."""

    fault: Fault
    section: str
    found: int
    expected: int
    text: str


_REFUSALS: Final = {
    Fault.COUNT_MISMATCH: CountMismatch,
    Fault.STATED_END: CountMismatch,
    Fault.REPEAT_STITCHES: BadRepeat,
    Fault.REPEAT_ROWS: BadRepeat,
}


def find_problems(parts: Sequence[Part]) -> tuple[Problem, ...]:
    """Return every contradiction, in the pattern's order."""
    return tuple(_problems(parts))


def check_parts(parts: Sequence[Part]) -> None:
    """Raise CountMismatch or BadRepeat for the first contradiction, if there is one."""
    for problem in _problems(parts):
        raise _REFUSALS[problem.fault](problem.text)


def _problems(parts: Sequence[Part]) -> Iterator[Problem]:
    for i, part in enumerate(parts):
        if i:
            yield from _meeting(parts[i - 1], part)
        if isinstance(part, Section):
            yield from _stated_end(part)
            yield from _repeats(part)


def _meeting(before: Part, after: Part) -> Iterator[Problem]:
    if before.end != after.start:
        yield Problem(
            Fault.COUNT_MISMATCH,
            after.name,
            after.start,
            before.end,
            f"{before.name} ends with {before.end} stitches, "
            f"but {after.name} starts with {after.start}.",
        )


def _stated_end(part: Section) -> Iterator[Problem]:
    if part.states_end not in {None, part.end}:
        yield Problem(
            Fault.STATED_END,
            part.name,
            part.states_end or 0,
            part.end,
            f"{part.name} says it ends with {part.states_end} stitches; "
            f"its {part.rows} rows from {part.start} stitches end with {part.end}.",
        )


def _repeats(part: Section) -> Iterator[Problem]:
    if part.repeat is None:
        return
    if part.rows % part.repeat.rows:
        yield _broken_rows(part, part.repeat)
    # The needle holds `start` before row 1, and what a row leaves before the next.
    before_rows = (part.start, *part.row_counts)[: part.rows]
    for row, count in list(enumerate(before_rows, start=1))[:: part.repeat.rows]:
        if not part.repeat.fits(count):
            yield _broken_stitches(part, part.repeat, row, count)
            return  # Later repeats would say the same again.


def _broken_rows(part: Section, repeat: StitchRepeat) -> Problem:
    return Problem(
        Fault.REPEAT_ROWS,
        part.name,
        part.rows,
        repeat.rows,
        f"{part.name} has {part.rows} rows, which is not a multiple of its {repeat.rows}-row "
        "repeat.",
    )


def _broken_stitches(part: Section, repeat: StitchRepeat, row: int, count: int) -> Problem:
    below, above = repeat.nearest(count)
    edge = f" plus {repeat.edge}" if repeat.edge else ""
    return Problem(
        Fault.REPEAT_STITCHES,
        part.name,
        count,
        repeat.stitches,
        f"{part.name} has {count} stitches at row {row}, which is not a multiple of "
        f"{repeat.stitches}{edge}; {below} or {above} would be.",
    )
