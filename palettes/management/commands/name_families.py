"""Name the colour family of each hex colour given."""

import json
import sys
from collections.abc import Iterator
from typing import Any, TextIO

from django.core.management.base import CommandParser

from kal.management.refusing import OneLineCommand, refuse
from palettes.colour.errors import BadHexColour
from palettes.colour.families import families_of, shade_of
from palettes.colour.ladder import lightness_word
from palettes.colour.spaces import hex_to_lab, parse_hex

ENOUGH_DECIMALS = 4


class Command(OneLineCommand):
    help = "Name the colour family of each colour, and the next family when a border is near."
    stealth_options = ("stdin",)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "colours",
            nargs="*",
            metavar="HEX",
            help="a colour such as 7a4b2c; a single - reads colours from standard input",
        )
        parser.add_argument("--json", action="store_true", help="print a JSON list")

    def handle(self, *args: Any, **options: Any) -> None:
        given: list[str] = options["colours"]
        from_input = given == ["-"]
        stream: TextIO = options.get("stdin") or sys.stdin
        placed = _read_words(stream) if from_input else _number(given)
        try:
            # Everything is read before anything is printed, so bad input prints nothing.
            named = [_describe(text, where) for where, text in placed]
        except UnicodeDecodeError as error:
            raise refuse("Standard input is not UTF-8 text.") from error
        if not named:
            where = "standard input" if from_input else "the command line"
            raise refuse(f"No colours on {where}; give some like 7a4b2c.")
        self.stdout.write(json.dumps(named, indent=2) if options["json"] else _as_text(named))


def _number(given: list[str]) -> Iterator[tuple[str, str]]:
    return ((f"Colour {place}", text) for place, text in enumerate(given, start=1))


def _read_words(stream: TextIO) -> Iterator[tuple[str, str]]:
    for number, line in enumerate(stream, start=1):
        for text in line.removeprefix("\ufeff").split():
            yield f"Standard input, line {number}", text


def _describe(text: str, where: str) -> dict[str, Any]:
    try:
        lab = hex_to_lab(text)
    except BadHexColour as error:
        raise refuse(f"{where}: {error}") from error
    families = [family.value for family in families_of(lab)]
    return {
        "hex": parse_hex(text),
        "family": families[0],
        "families": families,
        "shade": shade_of(lab),
        "lightness": lightness_word(lab.l),
        "lab": {axis: round(value, ENOUGH_DECIMALS) for axis, value in lab._asdict().items()},
    }


def _as_text(named: list[dict[str, Any]]) -> str:
    return "\n".join(_line(colour) for colour in named)


def _line(colour: dict[str, Any]) -> str:
    words = f"{colour['lightness']} {colour['shade']}"
    families = ", near ".join(colour["families"])
    return f"{colour['hex']}  {words:<15} {families}"
