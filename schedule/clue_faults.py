"""What is wrong with a clue's form: its own fields first, then its lists and their lists within."""

from collections.abc import Iterator

from django.utils.translation import gettext as _

from kal.forms.faults import Fault, faults_of
from schedule.clue_form import ClueForm
from schedule.clue_rows import RowList


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
        if row.cleaned_data.get("DELETE"):
            continue
        for fault in faults_of(row):
            yield fault.under(f"{word} {place}")
        for name, inner in (("ways", _("Way")), ("parts", _("Rows"))):
            for fault in _in_rows(getattr(row, name), inner) if hasattr(row, name) else ():
                yield fault.under(f"{word} {place}")
