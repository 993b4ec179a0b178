"""The counted parts of a clue's sections, and whether their numbers agree."""

from collections.abc import Iterator

from django.utils.translation import gettext as _

from palettes.translator import READERS_LANGUAGE
from schedule.drafts import Draft
from schedule.pattern.consistency import find_problems
from schedule.pattern.errors import Told
from schedule.pattern.stitches import Part


def counted_parts(draft: Draft) -> tuple[Part, ...]:
    """Return every counted part of the clue in its order; Told if one cannot be knitted."""
    return tuple(_parts(draft))


def count_problems(draft: Draft) -> tuple[str, ...]:
    """Return a sentence, with both numbers, for each count that another one contradicts."""
    try:
        problems = find_problems(counted_parts(draft))
    except Told as refused:
        return (refused.words(READERS_LANGUAGE),)
    return tuple(problem.words(READERS_LANGUAGE) for problem in problems)


def _parts(draft: Draft) -> Iterator[Part]:
    for place, section in enumerate(draft.sections, start=1):
        name = section.title or _("Section %(place)s") % {"place": place}
        yield from (part.as_part(name) for part in section.parts)
