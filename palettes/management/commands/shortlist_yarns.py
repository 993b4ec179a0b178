"""`manage.py shortlist_yarns FILE.csv`: the best sets of yarns out of many candidates."""

import csv
import io
import json
from collections.abc import Mapping, Sequence
from typing import Any, Final

from django.core.management.base import BaseCommand, CommandParser

from kal.management.refusing import refuse
from palettes.colour.errors import ColourError
from palettes.colour.shortlist import MAX_CANDIDATES, Aim, Answer, shortlist
from palettes.colour.shortlist_wording import say
from palettes.colour.spaces import hex_to_lab, lab_to_hex
from palettes.colour.swatch import TYPICAL_SPREAD, Swatch
from palettes.management.inputs import add_gauge, fault_in_name, read_gauge, read_text

NEEDED: Final = ("name", "hex")
OPTIONAL: Final = ("spread", "dye_style")
DIGITS = 4


class Command(BaseCommand):
    help = "Choose yarns out of up to 40 candidates: the best sets for an aim, each with reasons."

    def add_arguments(self, parser: CommandParser) -> None:
        columns = ", ".join(NEEDED) + " and if you like " + ", ".join(OPTIONAL)
        parser.add_argument("file", nargs="?", metavar="FILE", help=f"CSV with a header: {columns}")
        parser.add_argument("--choose", default="5", metavar="N", help="how many, 2 to 8")
        parser.add_argument(
            "--aim", default=Aim.CONTRAST.value, metavar="AIM", help=" | ".join(Aim)
        )
        parser.add_argument(
            "--lock", action="append", default=[], metavar="NAME", help="must be in every set"
        )
        add_gauge(parser)
        parser.add_argument("--json", action="store_true", help="print everything as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["file"] is None:
            raise refuse("Name a CSV file, or - for standard input.")
        aim, choose, fabric = _aim(options["aim"]), _choose(options["choose"]), read_gauge(options)
        candidates = read_candidates(options["file"], read_text(options["file"]))
        names = [swatch.name for swatch in candidates]
        locked = [_find(name, names) for name in options["lock"]]
        try:
            answers = shortlist(candidates, choose=choose, aim=aim, locked=locked, fabric=fabric)
        except ColourError as error:
            raise refuse(f"{options['file']}: {error}") from error
        asked = {"aim": aim.value, "choose": choose, "candidates": len(candidates)}
        result = {
            **asked,
            "locked": [names[yarn] for yarn in locked],
            "answers": [_answer(answer, candidates) for answer in answers],
        }
        self.stdout.write(json.dumps(result, indent=2) if options["json"] else _as_text(result))


def _aim(text: str) -> Aim:
    try:
        return Aim(text)
    except ValueError as error:
        raise refuse(f"--aim is {text!r}; give one of {', '.join(Aim)}.") from error


def _choose(text: str) -> int:
    try:
        return int(text)
    except ValueError as error:
        raise refuse(f"--choose is {text!r}; give a whole number, such as 5.") from error


def _find(name: str, names: Sequence[str]) -> int:
    try:
        return names.index(name)
    except ValueError as error:
        raise refuse(f"--lock is {name!r}, which is not among the candidates.") from error


def read_candidates(file: str, text: str) -> list[Swatch]:
    """Return the candidates of a CSV text; bad input is refused with its file and line."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        columns = _columns(file, next(reader, []))
        candidates: list[Swatch] = []
        lines: dict[str, int] = {}
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            where = f"{file}, line {reader.line_num}"
            candidates.append(_candidate(where, columns, cells))
            _check_new(where, candidates[-1].name, lines, reader.line_num)
            if len(candidates) > MAX_CANDIDATES:
                raise refuse(f"{where}: more than {MAX_CANDIDATES} candidates; leave some out.")
    except csv.Error as error:
        raise refuse(f"{file}, line {reader.line_num}: not CSV ({error}).") from error
    return candidates


def _columns(file: str, header: Sequence[str]) -> list[str]:
    columns = [cell.strip() for cell in header]
    known = (*NEEDED, *OPTIONAL)
    for column in columns:
        if column not in known or columns.count(column) > 1:
            fault = "twice" if column in known else "unknown"
            raise refuse(f"{file}, line 1: column {column!r} is {fault}; use {', '.join(known)}.")
    for column in NEEDED:
        if column not in columns:
            raise refuse(f"{file}, line 1: there is no column {column!r}.")
    return columns


def _candidate(where: str, columns: Sequence[str], cells: Sequence[str]) -> Swatch:
    if len(cells) != len(columns):
        raise refuse(f"{where}: {len(cells)} cells under {len(columns)} columns.")
    row = dict(zip(columns, (cell.strip() for cell in cells), strict=True))
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
        return float(text or 0)
    except ValueError as error:
        raise refuse(f"{where}: spread is {text!r}; give a number, such as 4.5.") from error


def _dye_style(where: str, row: Mapping[str, str]) -> str | None:
    style = row.get("dye_style", "")
    if style and style not in TYPICAL_SPREAD:
        raise refuse(f"{where}: dye_style is {style!r}; give one of {', '.join(TYPICAL_SPREAD)}.")
    return style or None


def _check_new(where: str, name: str, lines: dict[str, int], line: int) -> None:
    if name in lines:
        raise refuse(f"{where}: {name!r} is already on line {lines[name]}; give each its own name.")
    lines[name] = line


def _answer(answer: Answer, candidates: Sequence[Swatch]) -> dict[str, Any]:
    names = [swatch.name for swatch in candidates]
    return {
        "yarns": [
            {"name": names[yarn], "hex": lab_to_hex(candidates[yarn].lab)} for yarn in answer.yarns
        ],
        "score": round(answer.score, DIGITS),
        "reasons": [
            {
                "code": reason.code,
                "yarns": [names[yarn] for yarn in reason.yarns],
                "instead_of": [names[yarn] for yarn in reason.instead_of],
                "numbers": {
                    key: number if isinstance(number, str) else round(number, DIGITS)
                    for key, number in reason.numbers.items()
                },
                "words": say(reason, names),
            }
            for reason in answer.reasons
        ],
    }


def _as_text(result: Mapping[str, Any]) -> str:
    blocks = []
    for place, answer in enumerate(result["answers"], start=1):
        yarns = ", ".join(yarn["name"] for yarn in answer["yarns"])
        reasons = [f"   {reason['words']}" for reason in answer["reasons"]]
        blocks.append("\n".join([f"{place}. {yarns}", *reasons]))
    return "\n\n".join(blocks)
