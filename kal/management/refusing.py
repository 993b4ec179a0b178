"""How every command refuses: one line that says what and where, and exit status 2."""

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

BAD_INPUT = 2


def refuse(message: str) -> CommandError:
    """Return the error that ends a command with this one line and exit status 2."""
    return CommandError(message, returncode=BAD_INPUT)


class OneLineCommand(BaseCommand):
    """A command that refuses what it was called with in one line as well.

    Django's own would print the whole usage before it.
    """

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        parser = super().create_parser(prog_name, subcommand, **kwargs)
        parser.called_from_command_line = False  # so it raises its errors
        return parser

    def run_from_argv(self, argv: list[str]) -> None:
        try:
            super().run_from_argv(argv)
        except CommandError as error:
            if "--traceback" in argv:
                raise
            said = str(error).removeprefix("Error: ").rstrip(".")
            self.stderr.write(f"CommandError: {said}. Try: manage.py {argv[1]} --help")
            sys.exit(BAD_INPUT)
