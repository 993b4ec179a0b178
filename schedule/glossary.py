"""Finding a knit-along's abbreviations in a text, as whole words; pure.

A count may follow one, as in k3 or sl1, so "k" is found in "k3"; not in "k2tog" or "knit".
"""

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache

from kal.terms import both_names


@lru_cache(maxsize=64)
def pattern_of(shorts: tuple[str, ...]) -> re.Pattern[str]:
    """Return what finds any of the abbreviations, the longest first; capitals count."""
    longest_first = sorted(shorts, key=len, reverse=True)
    return re.compile(rf"(?<!\w)({'|'.join(map(re.escape, longest_first))})(?=\d*(?!\w))")


def used_in(texts: Iterable[str], meanings: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Return the abbreviations that the texts use and what they mean, in the alphabet's order.

    A meaning that is called otherwise across the ocean is told by both names.
    """
    if not meanings:
        return ()
    pattern = pattern_of(tuple(meanings))
    found = {match for text in texts for match in pattern.findall(text)}
    return tuple((short, both_names(meanings[short])) for short in sorted(found, key=str.casefold))
