"""The candidates of a shortlist, read from a CSV text as spreadsheets write it."""

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from kal.management.refusing import refuse
from palettes.colour.errors import ColourError
from palettes.colour.shortlist import MAX_CANDIDATES
from palettes.colour.spaces import hex_to_lab
from palettes.colour.swatch import TYPICAL_SPREAD, Swatch
from palettes.management.inputs import fault_in_name, plural

NEEDED: Final = ("name", "hex")
OPTIONAL: Final = ("spread", "dye_style")
# Where the decimal sign is a comma, spreadsheets separate by semicolons.
DELIMITERS: Final = (",", ";", "\t")


def read_candidates(file: str, text: str) -> list[Swatch]:
    """Return the candidates of a CSV text; bad input is refused with its file and line."""
    first_line = next(iter(text.lstrip().splitlines()), "")
    delimiter = max(DELIMITERS, key=first_line.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    rows = ((reader.line_num, cells) for cells in reader if any(map(str.strip, cells)))
    try:
        return _read_rows(file, rows)
    except csv.Error as error:
        raise refuse(f"{file}, line {reader.line_num}: not CSV ({error}).") from error


def _read_rows(file: str, rows: Iterator[tuple[int, Sequence[str]]]) -> list[Swatch]:
    number, header = next(rows, (1, []))
    columns = _columns(f"{file}, line {number}", header)
    candidates: list[Swatch] = []
    lines: dict[str, int] = {}
    for number, cells in rows:
        where = f"{file}, line {number}"
        candidates.append(_candidate(where, columns, cells))
        _check_new(where, candidates[-1].name, lines, number)
        if len(candidates) > MAX_CANDIDATES:
            raise refuse(f"{where}: more than {MAX_CANDIDATES} candidates; leave some out.")
    return candidates


def _columns(where: str, header: Sequence[str]) -> list[str]:
    columns = [cell.strip().lower().replace(" ", "_") for cell in header]
    while columns and not columns[-1]:
        columns.pop()
    known = (*NEEDED, *OPTIONAL)
    for column in columns:
        if column not in known or columns.count(column) > 1:
            fault = "twice" if column in known else "unknown"
            raise refuse(f"{where}: column {column!r} is {fault}; use {', '.join(known)}.")
    for column in NEEDED:
        if column not in columns:
            raise refuse(f"{where}: there is no column {column!r}.")
    return columns


def _candidate(where: str, columns: Sequence[str], cells: Sequence[str]) -> Swatch:
    beyond = cells[len(columns) :]
    if len(cells) < len(columns) or any(map(str.strip, beyond)):
        raise refuse(
            f"{where}: {plural(len(cells), 'cell')} under {plural(len(columns), 'column')}."
        )
    row = dict(zip(columns, map(str.strip, cells), strict=False))
    if fault := fault_in_name(row["name"]):
        raise refuse(f"{where}: {fault}")
    try:
        return Swatch(
            row["name"],
            hex_to_lab(row["hex"]),
            spread=_spread(where, row),
            dye_style=_dye_style(where, row),
        )
    except ColourError as error:
        raise refuse(f"{where}: {error}") from error


def _spread(where: str, row: Mapping[str, str]) -> float:
    text = row.get("spread", "")
    try:
        return float(text.replace(",", ".") or 0)
    except ValueError as error:
        raise refuse(f"{where}: spread is {text!r}; give a number, such as 4.5.") from error


def _dye_style(where: str, row: Mapping[str, str]) -> str | None:
    style = row.get("dye_style", "").lower()
    if style and style not in TYPICAL_SPREAD:
        allowed = ", ".join(TYPICAL_SPREAD)
        raise refuse(f"{where}: dye_style is {row['dye_style']!r}; give one of {allowed}.")
    return style or None


def _check_new(where: str, name: str, lines: dict[str, int], line: int) -> None:
    if name in lines:
        raise refuse(f"{where}: {name!r} is already on line {lines[name]}; give each its own name.")
    lines[name] = line
