"""The words of what the pattern core refuses people, and of counts that contradict each other."""

from collections.abc import Mapping
from typing import Final

from palettes.colour.phrases import Phrase, ngettext_lazy
from palettes.colour.phrases import gettext_noop as _

REFUSALS: Final[Mapping[str, Phrase]] = {
    "negative-start": _("{section}: {count} stitches at the start; it must be 0 or more."),
    "negative-stitches": _("{section}: {count} stitches; it must be 0 or more."),
    "negative-rows": _("{section}: {count} rows; it must be 0 or more."),
    "no-letter": _("{section}: no colour letter; give one for each row, or one for all."),
    "no-change": _("{section}: no change per row; write 0 for straight knitting."),
    "row-below-none": _("{section}: row {row} would be left with {count} stitches."),
    "short-row-too-long": _(
        "{section}: short row {row} works {count} stitches; there are {start} on the needle."
    ),
    "no-stitch": _("There is not a stitch in this pattern; give a section with rows."),
    "no-repeat": _(
        "A repeat of {stitches} stitches and {rows} rows plus {edge} edge stitches; a repeat has "
        "at least one stitch and one row."
    ),
    "repeat-cut": _(
        "{section}: {rows} rows do not end where its changes or stripes ({changes} and {letters} "
        "rows) begin again."
    ),
    "no-such-clue": _("{clues} clues and {share} of the next; there are {count} clues."),
    "planned-beyond": _("{grams} of {letter} planned so far; the whole plan has {total}."),
    "left-beyond-bought": _(
        "{left} of {letter} left, but {bought} bought. If you bought more, or the ball weighed "
        "more than its band says, put in what there was."
    ),
    "left-beyond-before": _(
        "{left} of {letter} left, but {before} the time before. If you bought more, put in "
        "what there is now in all."
    ),
}

PROBLEMS: Final[Mapping[str, Phrase]] = {
    "count-mismatch": _(
        "{before} ends with {expected} stitches, but {section} starts with {found}."
    ),
    "stated-end": ngettext_lazy(
        "{section} says it ends with {found} stitches; its {rows} row from {start} stitches ends "
        "with {expected}.",
        "{section} says it ends with {found} stitches; its {rows} rows from {start} stitches end "
        "with {expected}.",
        "rows",
    ),
    "repeat-rows": ngettext_lazy(
        "{section} has {found} row, which is not a multiple of its {expected}-row repeat.",
        "{section} has {found} rows, which is not a multiple of its {expected}-row repeat.",
        "found",
    ),
    "repeat-stitches": _(
        "{section} has {found} stitches at row {row}, which is not a multiple of {expected}; "
        "{below} or {above} would be."
    ),
    "repeat-stitches-and-edge": _(
        "{section} has {found} stitches at row {row}, which is not a multiple of {expected} plus "
        "{edge}; {below} or {above} would be."
    ),
}
