"""What a technical editor checks before anybody casts on: that the counts meet and repeats fit."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from palettes.colour.phrases import UNTRANSLATED, Translator
from palettes.colour.refusal import word_refusal
from schedule.pattern.stitches import Part, Section, StitchRepeat
from schedule.pattern.wording import PROBLEMS


class Fault(StrEnum):
    """What can be wrong between the numbers of a pattern."""

    COUNT_MISMATCH = "count-mismatch"
    STATED_END = "stated-end"
    REPEAT_STITCHES = "repeat-stitches"
    REPEAT_ROWS = "repeat-rows"


@dataclass(frozen=True, slots=True)
class Problem:
    """One contradiction: where, the two numbers that disagree, and what else its words need."""

    fault: Fault
    section: str
    found: int
    expected: int
    about: Mapping[str, int | str] = field(default_factory=dict)

    def words(self, to: Translator = UNTRANSLATED) -> str:
        """Return one sentence with both numbers, in the reader's language."""
        edge = "-and-edge" if self.about.get("edge") else ""
        numbers = {"found": self.found, "expected": self.expected}
        about = {"section": self.section, **numbers, **self.about}
        return word_refusal(PROBLEMS[f"{self.fault}{edge}"], about, to)


def find_problems(parts: Sequence[Part]) -> tuple[Problem, ...]:
    """Return every contradiction, in the pattern's order."""
    return tuple(_problems(parts))


def _problems(parts: Sequence[Part]) -> Iterator[Problem]:
    for i, part in enumerate(parts):
        if i:
            yield from _meeting(parts[i - 1], part)
        if isinstance(part, Section):
            yield from _stated_end(part)
            yield from _repeats(part)


def _meeting(before: Part, after: Part) -> Iterator[Problem]:
    if before.end != after.start:
        about = {"before": before.name}
        yield Problem(Fault.COUNT_MISMATCH, after.name, after.start, before.end, about)


def _stated_end(part: Section) -> Iterator[Problem]:
    if part.states_end not in {None, part.end}:
        about = {"rows": part.rows, "start": part.start}
        yield Problem(Fault.STATED_END, part.name, part.states_end or 0, part.end, about)


def _repeats(part: Section) -> Iterator[Problem]:
    if part.repeat is None:
        return
    if part.rows % part.repeat.rows:
        yield Problem(Fault.REPEAT_ROWS, part.name, part.rows, part.repeat.rows)
    # The needle holds `start` before row 1, and what a row leaves before the next.
    before_rows = (part.start, *part.row_counts)[: part.rows]
    for row, count in list(enumerate(before_rows, start=1))[:: part.repeat.rows]:
        if not part.repeat.fits(count):
            yield _broken_stitches(part, part.repeat, row, count)
            return  # Later repeats would say the same again.


def _broken_stitches(part: Section, repeat: StitchRepeat, row: int, count: int) -> Problem:
    below, above = repeat.nearest(count)
    about = {"row": row, "edge": repeat.edge, "below": below, "above": above}
    return Problem(Fault.REPEAT_STITCHES, part.name, count, repeat.stitches, about)
