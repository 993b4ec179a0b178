"""The counted parts of a clue's sections, and whether their numbers agree."""

from collections.abc import Iterator

from schedule.drafts import Draft
from schedule.pattern.consistency import find_problems
from schedule.pattern.errors import PatternError
from schedule.pattern.stitches import Part


def counted_parts(draft: Draft) -> tuple[Part, ...]:
    """Return every counted part of the clue in its order; PatternError if one cannot be knitted."""
    return tuple(_parts(draft))


def count_problems(draft: Draft) -> tuple[str, ...]:
    """Return a sentence, with both numbers, for each count that another one contradicts."""
    try:
        return tuple(problem.text for problem in find_problems(counted_parts(draft)))
    except PatternError as refused:
        return (str(refused),)


def _parts(draft: Draft) -> Iterator[Part]:
    for place, section in enumerate(draft.sections, start=1):
        name = section.title or f"Section {place}"
        yield from (part.as_part(name) for part in section.parts)
