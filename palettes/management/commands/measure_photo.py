"""`manage.py measure_photo FILE`: the yarns of a photo, found and measured."""

import json
import os
from io import BytesIO
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from kal.management.refusing import OneLineCommand, refuse
from palettes.colour.errors import ColourError
from palettes.colour.families import family_of
from palettes.colour.ladder import lightness_word
from palettes.colour.light import Box, Reference
from palettes.colour.reading import FoundYarn, White, find_yarns, read_yarns
from palettes.colour.spaces import Floats, grey_hex, lab_to_hex
from palettes.errors import PhotoRefused
from palettes.photos import MAX_BYTES, read_patch, read_photo, too_large

MOST_YARNS = 40
WHOLE = Box(0, 0, 1, 1)


class Command(OneLineCommand):
    help = "Find and measure the yarns of a photo. Bad input: one line, exit code 2."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "file", nargs="?", metavar="FILE", help="a JPEG, PNG, WebP, HEIC or AVIF photo"
        )
        box = "left,top,right,bottom as fractions of the photo, such as 0.1,0.2,0.4,0.6"
        parser.add_argument("--paper", metavar="BOX", help=f"white paper in the photo: {box}")
        parser.add_argument("--grey-card", metavar="BOX", help="an 18 %% grey card in the photo")
        parser.add_argument(
            "--yarn",
            action="append",
            default=[],
            metavar="BOX",
            help="where a yarn is; give one for each yarn (default: they are looked for)",
        )
        parser.add_argument(
            "--count", default="5", help="how many yarns to look for (default: %(default)s)"
        )
        parser.add_argument(
            "--trust-light", action="store_true", help="do not refuse a photo for a colour cast"
        )
        parser.add_argument("--json", action="store_true", help="print JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["file"] is None:
            raise refuse("Name a photo file.")
        try:
            photo = _read(options["file"])
            white = _white(options)
            marked = [_box("--yarn", text) for text in options["yarn"]]
            boxes = marked or find_yarns(photo, count=_count(options["count"]), white=white)
            found = read_yarns(photo, boxes, white=white, is_light_trusted=options["trust_light"])
        except (ColourError, PhotoRefused) as error:
            raise refuse(f"{options['file']}: {error}") from error
        yarns = [_describe(yarn) for yarn in found]
        self.stdout.write(
            json.dumps({"yarns": yarns}, indent=2) if options["json"] else _as_text(yarns)
        )


def _read(name: str) -> Floats:
    try:
        with Path(name).open("rb") as file:
            data = file.read(MAX_BYTES + 1)
            size = max(len(data), os.fstat(file.fileno()).st_size)
    except OSError as error:
        message = f"{name} cannot be read: {error.strerror or error}."
        raise refuse(message) from error
    if size > MAX_BYTES:
        raise refuse(f"{name}: {too_large(size)}")
    picture = read_photo(data)
    return read_patch(BytesIO(picture.webp), WHOLE)


def _white(options: dict[str, Any]) -> White | None:
    paper, card = options["paper"], options["grey_card"]
    if paper is not None and card is not None:
        raise refuse("Give --paper or --grey-card, not both.")
    if paper is not None:
        return White(_box("--paper", paper))
    return None if card is None else White(_box("--grey-card", card), Reference.GREY_CARD)


def _box(option: str, text: str) -> Box:
    try:
        left, top, right, bottom = (float(part) for part in text.split(","))
    except ValueError as error:
        message = f"{option} is {text!r}; give left,top,right,bottom, such as 0.1,0.2,0.4,0.6."
        raise refuse(message) from error
    return Box(left, top, right, bottom)


def _count(text: str) -> int:
    # Python reads no more than 4300 digits of a number.
    is_short = len(text) <= len(str(MOST_YARNS))
    if not (is_short and text.isdecimal() and 1 <= int(text) <= MOST_YARNS):
        message = f"--count is {text!r}; give a whole number from 1 to {MOST_YARNS}."
        raise refuse(message)
    return int(text)


def _describe(yarn: FoundYarn) -> dict[str, Any]:
    box, measured = yarn.box, yarn.measurement
    corners = (box.left, box.top, box.right, box.bottom)
    return {
        "box": [round(corner, 4) for corner in corners],
        "hex": lab_to_hex(measured.lab),
        "grey": grey_hex(measured.lab),
        "lab": {axis: round(value, 2) for axis, value in measured.lab._asdict().items()},
        "spread": round(measured.spread, 2),
        "dye_style": measured.dye_style,
        "family": family_of(measured.lab).value,
        "lightness": lightness_word(measured.lab.l),
    }


def _as_text(yarns: list[dict[str, Any]]) -> str:
    if not yarns:
        return "No evenly coloured area large enough to be a yarn was found; mark them with --yarn."
    return "\n".join(
        f"{yarn['hex']}  {yarn['lightness']} {yarn['family']}, {yarn['dye_style']} "
        f"(spread {yarn['spread']:.1f} CIEDE2000), at {', '.join(map(str, yarn['box']))}"
        for yarn in yarns
    )
