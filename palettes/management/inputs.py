"""What the palette commands share: reading a file, a name and a gauge, or refusing it."""

import sys
import unicodedata
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from kal.management.refusing import refuse
from palettes.colour.errors import ColourError
from palettes.colour.swatch import Fabric

MAX_FILE_BYTES = 1_000_000


def read_text(name: str) -> str:
    """Return a small UTF-8 file's text, without a byte order mark; `-` is standard input."""
    told = told_as(name)
    try:
        raw = sys.stdin.buffer.read(MAX_FILE_BYTES + 1) if name == "-" else _read_file(name)
        if len(raw) > MAX_FILE_BYTES:
            raise refuse(f"{told}: the file is over {MAX_FILE_BYTES // 1_000_000} MB.")
        return raw.decode("utf-8-sig")
    except OSError as error:
        raise refuse(f"{told}: cannot be read ({error.strerror or error}).") from error
    except UnicodeDecodeError as error:
        raise refuse(f"{told}: not UTF-8 text, at byte {error.start + 1}.") from error


def told_as(name: str) -> str:
    """Return what a refusal calls a file."""
    return "Standard input" if name == "-" else name


def plural(count: int, what: str) -> str:
    """Return a count with its noun, one with an s for more than one."""
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _read_file(name: str) -> bytes:
    with Path(name).open("rb") as file:
        return file.read(MAX_FILE_BYTES + 1)


def fault_in_name(name: str) -> str | None:
    """Return what is wrong with a yarn's name in a file, or None when it will do."""
    if not name:
        return "the yarn has no name."
    if any(unicodedata.category(sign) in {"Cc", "Cs"} for sign in name):
        return f"{name!r} has a sign in it that cannot be printed."
    return None


def add_gauge(parser: CommandParser) -> None:
    """Add --stitches and --rows."""
    gauge = Fabric()
    for option, default in (
        ("--stitches", gauge.stitches_per_10cm),
        ("--rows", gauge.rows_per_10cm),
    ):
        words = f"{option.removeprefix('--')} to 10 cm (default: %(default)s)"
        parser.add_argument(option, default=f"{default:g}", metavar="N", help=words)


def read_gauge(options: dict[str, Any]) -> Fabric:
    """Return the fabric of --stitches and --rows."""
    try:
        return Fabric(*(_number(option, options) for option in ("stitches", "rows")))
    except ColourError as error:
        raise refuse(str(error)) from error


def _number(option: str, options: dict[str, Any]) -> float:
    text = options[option]
    try:
        return float(text)
    except ValueError as error:
        raise refuse(f"--{option} is {text!r}; give a number, such as 40.") from error
