"""A refusal that people are shown: a stable name, and the numbers and names that it is about.

Its words stand in a table beside those of the findings, so that every reader gets them in their
own language. What only a programmer can meet is an ordinary exception with a text.
"""

from collections.abc import Mapping
from typing import ClassVar

from palettes.colour.phrases import UNTRANSLATED, Phrase, Translator, sentence


class Refusal(ValueError):
    """Base class; `str()` is the sentence in the source language, `words` it in the reader's."""

    phrases: ClassVar[Mapping[str, Phrase]]

    def __init__(self, name: str, **about: float | str) -> None:
        self.name, self.about = name, about
        super().__init__(self.words())

    def words(self, to: Translator = UNTRANSLATED) -> str:
        """Return one sentence that says what is wrong and what would do."""
        return word_refusal(self.phrases[self.name], self.about, to)


def word_refusal(
    phrase: Phrase, about: Mapping[str, float | str], to: Translator = UNTRANSLATED
) -> str:
    """Return the phrase filled; a number that is not whole has the reader's decimal mark."""
    values = {
        key: to.figures(f"{value:g}") if isinstance(value, float) else value
        for key, value in about.items()
    }
    return sentence(phrase, values, to)
