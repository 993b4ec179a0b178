"""The stitches of clues as their newest revisions count them: totals, shares, contradictions."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby, takewhile

from django.db.models import F
from django.utils.translation import gettext as _

from palettes.translator import READERS_LANGUAGE
from schedule.models import Clue, CountedPart
from schedule.models.clue import ClueQuerySet
from schedule.pattern.consistency import Problem, find_problems
from schedule.pattern.errors import RowOutOfRange, Told
from schedule.pattern.stitches import (
    CastOn,
    Part,
    share_after,
    stitches_by_letter,
    total_rows,
    total_stitches,
)


@dataclass(frozen=True)
class CountedClue:
    """One clue's parts; `refused` says why they cannot be knitted, and then there are none."""

    clue: Clue
    parts: tuple[Part, ...] = ()
    refused: str = ""

    @property
    def number(self) -> int:
        return self.clue.number

    @property
    def stitches(self) -> int:
        return total_stitches(self.parts)

    @property
    def rows(self) -> int:
        return total_rows(self.parts)

    @property
    def set_up_rows(self) -> int:
        """Cast-ons at the beginning, which nobody counts as a row of their knitting."""
        return sum(1 for _part in takewhile(lambda part: isinstance(part, CastOn), self.parts))

    @property
    def knitted_rows(self) -> int:
        return self.rows - self.set_up_rows

    def share_after(self, row: int) -> Fraction:
        """Return the share of the clue's stitches after so many rows of it, its cast-on included.

        RowOutOfRange for a row it does not have.
        """
        if not 0 <= row <= self.knitted_rows:
            raise RowOutOfRange(f"Row {row}; there are rows 1 to {self.knitted_rows}.")
        return share_after(self.parts, row + self.set_up_rows)

    @property
    def by_letter(self) -> dict[str, int]:
        return stitches_by_letter(self.parts)

    @property
    def is_counted(self) -> bool:
        return self.stitches > 0


def counted_clues(clues: ClueQuerySet) -> list[CountedClue]:
    """Return every one of the clues with its counted parts, in the clues' order: two queries."""
    rows = (
        CountedPart.objects.filter(
            section__revision__clue__in=clues,
            section__revision__key=F("section__revision__clue__newest_key"),
        )
        .select_related("section__revision")
        .order_by("section__revision__clue", "section__position", "position")
    )
    by_clue = {
        clue: list(group) for clue, group in groupby(rows, lambda row: row.section.revision.clue_id)
    }
    return [_counted(clue, by_clue.get(clue.pk, [])) for clue in clues.order_by("number")]


def _counted(clue: Clue, rows: Iterable[CountedPart]) -> CountedClue:
    try:
        return CountedClue(clue, tuple(row.as_part() for row in rows))
    except Told as refused:
        return CountedClue(clue, refused=refused.words(READERS_LANGUAGE))


def problems_across(clues: Iterable[CountedClue]) -> tuple[Problem, ...]:
    """Return every contradiction inside a clue and from each clue to the next.

    Where a clue is not counted, nothing is known of the stitches it hands on, so what follows
    begins afresh.
    """
    runs = groupby(clues, lambda clue: clue.is_counted)
    return tuple(
        problem
        for is_counted, run in runs
        if is_counted
        for problem in find_problems(tuple(_named_parts(run)))
    )


def _named_parts(clues: Iterable[CountedClue]) -> Iterator[Part]:
    for clue in clues:
        for part in clue.parts:
            name = _("Clue %(number)d, %(part)s") % {"number": clue.number, "part": part.name}
            yield replace(part, name=name)
