"""The same thing by its British and its American name: the one home of both.

The source speaks British English with the words of the trade that are understood everywhere, which
are mostly the American ones. From these tables `tools/messages.py` makes the two variants of
English, and a clue's glossary says the other name beside the one that the pattern uses.
Common practice throughout, but for the spelling.
"""

import re
from collections.abc import Mapping
from typing import Final

# American -> British. A phrase stands before the words in it.
TRADE: Final[Mapping[str, str]] = {
    "binding off": "casting off",
    "bind off": "cast off",
    "bound off": "cast off",
    "gauge": "tension",
    "stockinette": "stocking stitch",
    "seed stitch": "moss stitch",
    "fingering": "4-ply",
    "worsted": "aran",
}

# British -> American: how a word is spelt, by its stem.
SPELLING: Final[Mapping[str, str]] = {
    "colour": "color",
    "grey": "gray",
    "greyscale": "grayscale",
    "metre": "meter",
    "fibre": "fiber",
    "centre": "center",
    "organis": "organiz",
    "recognis": "recogniz",
    "summaris": "summariz",
    "neighbour": "neighbor",
    "favour": "favor",
    "catalogue": "catalog",
    "judgement": "judgment",
    "mould": "mold",
}

# Whole messages that a word for a word would spoil. A category's examples are what the trade of the
# United Kingdom calls the weights of the Standard Yarn Weight System (common practice).
BRITISH: Final[Mapping[str, str]] = {
    "fingering, 10-count crochet thread": "2-ply, 10-count crochet thread",
    "sock, fingering, baby": "sock, 4-ply, baby",
    "sport, baby": "5-ply, baby",
    "DK, light worsted": "DK, 8-ply",
    "worsted, afghan, aran": "aran, 10-ply",
}

# What must stay as it is: places to fill in, tags, addresses.
_KEPT = re.compile(r"(%\(\w+\)[sd]|\{\w*\}|<[^>]*>|https?://\S+|www\.\S+)")


def british(text: str) -> str:
    """Return the text with the trade's British words."""
    return BRITISH.get(text) or _replaced(text, TRADE, whole=True)


def american(text: str) -> str:
    """Return the text in American spelling."""
    return _replaced(text, SPELLING, whole=False)


def both_names(text: str) -> str:
    """Return what an abbreviation means with the other name after it: 'bind off (cast off)'.

    Untouched when neither table has a word of it, or when both names are there already.
    """
    for us, uk in TRADE.items():
        for here, other in ((us, uk), (uk, us)):
            if _has(text, here) and not any(_has(text, name) for name in _other_names(here)):
                return f"{text} ({other})"
    return text


def _has(text: str, words: str) -> bool:
    return bool(_pattern(words, whole=True).search(text))


def _other_names(words: str) -> list[str]:
    """Return what else a thing is called: 'cast off' answers to 'bind off' and 'bound off'."""
    return [other for pair in TRADE.items() if words in pair for other in pair if other != words]


def _replaced(text: str, table: Mapping[str, str], *, whole: bool) -> str:
    parts = _KEPT.split(text)
    for position in range(0, len(parts), 2):
        for before, after in table.items():
            parts[position] = _pattern(before, whole=whole).sub(
                lambda found, after=after: _in_case_of(found[0], after), parts[position]
            )
    return "".join(parts)


def _pattern(words: str, *, whole: bool) -> re.Pattern[str]:
    return re.compile(rf"\b{words}{r'\b' if whole else ''}", re.IGNORECASE)


def _in_case_of(found: str, words: str) -> str:
    return words[:1].upper() + words[1:] if found[:1].isupper() else words
