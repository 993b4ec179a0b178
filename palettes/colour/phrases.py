"""Sentences that wait for their translation: marked in the pure packages, translated at the edge.

A table of words holds templates with named places, such as "{first} and {second} are close." The
markers below do nothing but carry the names that `makemessages` looks for, so that every template
is in the message files by itself and a new language is one more file. Whoever shows the words
passes a `Translator`; without one they come out in the source language, British English.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple


class Plural(NamedTuple):
    """A template in two forms; the value under `number` decides between them."""

    one: str
    many: str
    number: str


type Phrase = str | Plural


class Translator(NamedTuple):
    """What turns templates into the reader's language, as in the standard `gettext` module."""

    gettext: Callable[[str], str]
    ngettext: Callable[[str, str, int], str]
    figures: Callable[[str], str] = str
    """What writes a number, given as '3.5', with the reader's decimal mark."""


def gettext_noop(text: str) -> str:
    """Return the template unchanged, marked for translation."""
    return text


def ngettext_lazy(one: str, many: str, number: str) -> Plural:
    """Return a template that has another form for one, marked for translation."""
    return Plural(one, many, number)


UNTRANSLATED = Translator(str, lambda one, many, count: one if count == 1 else many)


def fill(phrase: Phrase, values: Mapping[str, object], to: Translator = UNTRANSLATED) -> str:
    """Return the phrase in the reader's language with its places filled."""
    if isinstance(phrase, Plural):
        count = int(str(values[phrase.number]))
        return to.ngettext(phrase.one, phrase.many, count).format_map(values)
    return to.gettext(phrase).format_map(values)


def sentence(phrase: Phrase, values: Mapping[str, object], to: Translator = UNTRANSLATED) -> str:
    """Return `fill`, beginning with a capital: a yarn's own name may open it in lower case."""
    filled = fill(phrase, values, to)
    return filled[:1].upper() + filled[1:]


_PAIR = gettext_noop("{names} and {last}")
_COMMA = gettext_noop("{names}, {next}")


def whole(number: float) -> int:
    """Return a number as words and tables show it: cut, not rounded.

    What falls short of a bound then never reads as reaching it: 17.6 is not a strong 18. The last
    bits of a conversion do not count: the white of sRGB may come out as 99.99999999999999.
    """
    return math.floor(number + 1e-9)


def join_names(names: Sequence[str], to: Translator = UNTRANSLATED) -> str:
    """Return names as a person lists them: 'A', 'A and B', 'A, B and C'."""
    if len(names) < 2:
        return "".join(names)
    listed = names[0]
    for name in names[1:-1]:
        listed = fill(_COMMA, {"names": listed, "next": name}, to)
    return fill(_PAIR, {"names": listed, "last": names[-1]}, to)
