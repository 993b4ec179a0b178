"""`manage.py audit_palette HEX…`: the audit of a palette given by its colours."""

import json
from collections.abc import Sequence
from typing import Any

from django.core.management.base import CommandParser

from kal.management.refusing import OneLineCommand, refuse
from palettes.colour.audit import audit
from palettes.colour.errors import BadHexColour, ColourError
from palettes.colour.phrases import whole
from palettes.colour.report import report
from palettes.colour.spaces import hex_to_lab, parse_hex
from palettes.colour.swatch import Swatch
from palettes.colour.wording import TASTE_NOTE
from palettes.management.inputs import add_gauge, read_gauge


class Command(OneLineCommand):
    help = "Audit 2 to 8 yarn colours side by side in fabric. Bad input: one line, exit code 2."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("colours", nargs="*", metavar="HEX", help="a colour such as 7a4b2c")
        parser.add_argument(
            "--spare", action="append", default=[], metavar="HEX", help="a yarn to swap in"
        )
        add_gauge(parser)
        parser.add_argument(
            "--imperial", action="store_true", help="say ounces, yards and feet in sentences"
        )
        parser.add_argument("--json", action="store_true", help="print everything as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        swatches = _swatches("Colour", options["colours"])
        spares = _swatches("Spare", options["spare"])
        fabric = read_gauge(options)
        try:
            judged = audit(swatches, fabric=fabric, spares=spares)
        except ColourError as error:
            raise refuse(str(error)) from error
        result = report(judged, swatches, spares, imperial=options["imperial"])
        self.stdout.write(json.dumps(result, indent=2) if options["json"] else _as_text(result))


def _swatches(what: str, typed: Sequence[str]) -> list[Swatch]:
    return [_swatch(f"{what} {place}", text) for place, text in enumerate(typed, start=1)]


def _swatch(where: str, text: str) -> Swatch:
    try:
        return Swatch(parse_hex(text), hex_to_lab(text))
    except BadHexColour as error:
        raise refuse(f"{where}: {error}") from error


def _as_text(result: dict[str, Any]) -> str:
    lines = [result["summary"], ""]
    for yarn in result["yarns"]:
        light = whole(yarn["lab"]["l"])
        lines.append(f"{yarn['hex']}  {yarn['lightness']:<6}  L* {light:3}  {yarn['shade']}")
    lines += ["", f"{'pair':<17}  {'grade':<8}  contrast  difference  dL*"]
    for pair in result["pairs"]:
        lines.append(
            f"{pair['first']} {pair['second']}    {pair['grade']:<8}  {whole(pair['left']):8}  "
            f"{whole(pair['delta_e_2000']):10}  {whole(pair['delta_l']):3}"
        )
    for finding in result["findings"]:
        lines += ["", f"{finding['severity']}: {finding['what']}", f"  {finding['why']}"]
        lines.append(f"  {finding['try']}{' ' + TASTE_NOTE if finding['taste'] else ''}")
    return "\n".join(lines)
