"""How every command refuses: one line that says what and where, and exit status 2."""

from django.core.management.base import CommandError

BAD_INPUT = 2


def refuse(message: str) -> CommandError:
    """Return the error that ends a command with this one line and exit status 2."""
    return CommandError(message, returncode=BAD_INPUT)
