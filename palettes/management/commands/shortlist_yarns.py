"""`manage.py shortlist_yarns FILE.csv`: the best sets of yarns out of many candidates."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from django.core.management.base import CommandParser

from kal.management.refusing import OneLineCommand, refuse
from palettes.colour.errors import ColourError
from palettes.colour.shortlist import Aim, Answer, shortlist
from palettes.colour.shortlist_wording import say
from palettes.colour.spaces import lab_to_hex
from palettes.colour.swatch import Swatch
from palettes.management.candidates import NEEDED, OPTIONAL, read_candidates
from palettes.management.inputs import add_gauge, read_gauge, read_text, told_as

DIGITS = 4


class Command(OneLineCommand):
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
        file = told_as(options["file"])
        candidates = read_candidates(file, read_text(options["file"]))
        names = [swatch.name for swatch in candidates]
        locked = list(dict.fromkeys(_find(name, names) for name in options["lock"]))
        try:
            answers = shortlist(candidates, choose=choose, aim=aim, locked=locked, fabric=fabric)
        except ColourError as error:
            raise refuse(f"{file}: {error}") from error
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
