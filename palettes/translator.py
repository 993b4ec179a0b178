"""The reader's language for the words of the pure packages."""

from collections.abc import Sequence
from typing import Final

from django.utils.translation import gettext, ngettext

from kal.units import figures
from palettes.colour.phrases import Translator, join_names

READERS_LANGUAGE: Final = Translator(gettext, ngettext, figures)


def listed(names: Sequence[str]) -> str:
    """Return names as a sentence lists them: 'A', 'A and B', 'A, B and C'."""
    return join_names(names, READERS_LANGUAGE)
