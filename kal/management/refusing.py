"""How every command refuses: one line that says what and where, and exit status 2."""

import sys
import unicodedata
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import OperationalError, ProgrammingError

BAD_INPUT = 2
NO_DATABASE = 1


def refuse(message: str) -> CommandError:
    """Return the error that ends a command with this one line and exit status 2.

    What was typed may hold line breaks and other signs that cannot be printed; they are escaped.
    """
    return CommandError("".join(map(_printable, message)), returncode=BAD_INPUT)


def refuse_file(file: Path, error: OSError) -> CommandError:
    """Return the refusal of a file or folder that the system does not let a command use."""
    return refuse(f"{error.filename or file}: {error.strerror or error}.")


def _printable(sign: str) -> str:
    odd = unicodedata.category(sign) in {"Cc", "Cs", "Zl", "Zp"}
    return sign.encode("unicode_escape").decode("ascii") if odd else sign


class OneLineCommand(BaseCommand):
    """A command that tells in one line, too, of mistyped options and of a database that is away.

    Django's own prints the whole usage before the one, and a traceback of the other.
    """

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        parser = super().create_parser(prog_name, subcommand, **kwargs)
        parser.called_from_command_line = False  # so it raises its errors
        return parser

    def run_from_argv(self, argv: list[str]) -> None:
        try:
            super().run_from_argv(argv)
        except (CommandError, OperationalError, ProgrammingError) as error:
            if "--traceback" in argv:
                raise
            said = str(error).partition("\n")[0].removeprefix("Error: ").rstrip(".")
            if isinstance(error, CommandError):
                self.stderr.write(f"CommandError: {said}. Try: manage.py {argv[1]} --help")
                sys.exit(BAD_INPUT)
            advice = "See that it runs, then try: manage.py migrate"
            self.stderr.write(f"The database does not answer: {said}. {advice}")
            sys.exit(NO_DATABASE)
