"""What is wrong with a clue's form: its own fields first, then its lists and their lists within."""

from collections.abc import Iterator

from django.utils.translation import gettext as _

from kal.forms.faults import Fault, faults_of
from schedule.clue_form import ClueForm
from schedule.clue_rows import RowForm, RowList
from schedule.section_forms import SectionForm


def clue_faults(form: ClueForm) -> list[Fault]:
    """Return every fault of a form that was sent; none of one that was not."""
    if not form.is_bound:
        return []
    names = {"sections": _("Section"), "meetings": _("Meeting"), "videos": _("Video")}
    rows = (fault for name, word in names.items() for fault in _in_rows(form.rows[name], word))
    return [*faults_of(form), *rows]


def _in_rows(rows: RowList, word: str) -> Iterator[Fault]:
    for sentence in rows.non_form_errors():
        yield Fault(str(sentence), word)
    for place, row in enumerate(rows.forms, start=1):
        row.is_valid()
        if not row.cleaned_data.get("DELETE"):
            yield from (fault.under(f"{word} {place}") for fault in _in_row(row))


def _in_row(row: RowForm) -> Iterator[Fault]:
    yield from faults_of(row)
    if isinstance(row, SectionForm):
        yield from _in_rows(row.ways, _("Way"))
        yield from _in_rows(row.parts, _("Rows"))
