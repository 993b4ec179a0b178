"""Tables for a spreadsheet, as CSV (RFC 4180) that no program takes for formulas."""

import csv
from collections.abc import Iterable, Sequence
from io import StringIO

from django.http import HttpResponse

# With these a cell begins that a spreadsheet would work out (OWASP, "CSV Injection").
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


def neutral(cell: object) -> str:
    """Return a cell as text; words that would be a formula get an apostrophe, numbers do not."""
    text = str(cell)
    is_words = not isinstance(cell, int | float)
    return f"'{text}" if is_words and text.startswith(FORMULA_STARTS) else text


def csv_response(name: str, rows: Iterable[Sequence[object]]) -> HttpResponse:
    """Return the rows as a file to save, with a byte-order mark so that accents are read right."""
    stream = StringIO()
    csv.writer(stream).writerows([neutral(cell) for cell in row] for row in rows)
    return HttpResponse(
        "\ufeff" + stream.getvalue(),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}.csv"'},
    )
