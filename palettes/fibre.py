"""What a yarn is made of, read from the words on its ball band."""

import re
import unicodedata
from collections.abc import Iterable
from typing import Final

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from palettes.errors import BadFibre
from palettes.translator import listed

type FibreParts = tuple[tuple[str, float], ...]

EXAMPLE: Final = _("like “75% merino, 25% nylon”")

_NUMBER = r"(\d+(?:[.,]\d+)?)"
_SHARE = _NUMBER + r"\s*(?:%|per\s?cent\b|percent\b|pct\b|prozent\b)"
_SHARE_FIRST = re.compile(_SHARE + r"\s*(?:of\s+)?([^\d%]+)", re.IGNORECASE)
_NAME_FIRST = re.compile(r"([^\d%]+?)\s*" + _SHARE, re.IGNORECASE)
_RATIO = re.compile(rf"{_NUMBER}((?:\s*/\s*{_NUMBER})+)\s+([^\d%]+)")
_JOINS = re.compile(r"\s*(?:[,;/+&|\n]|\band\b|\bwith\b|\bund\b|\bmit\b)\s*", re.IGNORECASE)
_AROUND = " .:-\N{EN DASH}\N{EM DASH}"
# Per cent. Our choice: room for shares rounded to a tenth, as in six times 16.7.
ROUNDING = 0.5


def parse_fibre(text: str) -> FibreParts:
    """Return (fibre, per cent) parts in the order written; () when nothing is written.

    Reads “75% merino, 25% nylon”, “merino 75 %, nylon 25 %”, “75/25 merino/nylon” and a single
    fibre without a share. One fibre that lacks its share among others takes what is left.
    Raises BadFibre with one sentence when shares are missing, zero, or pass 100 together.
    """
    words = unicodedata.normalize("NFKC", text).strip().rstrip(".")
    if not words:
        return ()
    if re.search(r"[-\N{MINUS SIGN}]\s*\d+(?:[.,]\d+)?\s*%", words):
        raise BadFibre(
            gettext("“{strip}” has a share below zero; write it {example}.").format(
                strip=text.strip(), example=EXAMPLE
            )
        )
    parts = _merge(_read_ratio(words) or _read_shares(words))
    return _checked(parts, text.strip())


def read_fibre(text: str) -> FibreParts:
    """Return the parts of a stored fibre text, or () when it cannot be read."""
    try:
        return parse_fibre(text)
    except BadFibre:
        return ()


def _read_ratio(words: str) -> list[tuple[str, float | None]]:
    found = _RATIO.fullmatch(words)
    if found is None:
        return []
    shares = [_share(number) for number in re.split(r"\s*/\s*", found[1] + found[2])]
    names = _names(found[4])
    return list(zip(names, shares, strict=True)) if len(names) == len(shares) else []


def _read_shares(words: str) -> list[tuple[str, float | None]]:
    if words[0].isdigit():
        found = [(name, share) for share, name in _SHARE_FIRST.findall(words)]
        rest = _SHARE_FIRST.sub(",", words)
    else:
        found = _NAME_FIRST.findall(words)
        rest = _NAME_FIRST.sub(",", words)
    if re.search(r"[\d%]", rest):
        raise BadFibre(
            gettext(
                "“{words}” could not be read; write each share and its fibre, {example}."
            ).format(words=words, example=EXAMPLE)
        )
    parts: list[tuple[str, float | None]] = []
    for name, share in found:
        # “75% merino, nylon” gives the share to the first name only.
        first, *others = _names(name) or [""]
        if not first:
            raise BadFibre(
                # xgettext:no-python-format
                gettext("{share}% of what? Write each share and its fibre, {example}.").format(
                    share=share, example=EXAMPLE
                )
            )
        parts += [(first, _share(share)), *((other, None) for other in others)]
    return parts + [(name, None) for name in _names(rest)]


def _names(words: str) -> list[str]:
    return [name for part in _JOINS.split(words) if (name := part.strip(_AROUND).lower())]


def _share(number: str) -> float:
    return float(number.replace(",", "."))


def _merge(parts: Iterable[tuple[str, float | None]]) -> dict[str, float | None]:
    merged: dict[str, float | None] = {}
    for name, share in parts:
        before = merged.get(name)
        merged[name] = share if before is None or share is None else before + share
    return merged


def _checked(parts: dict[str, float | None], text: str) -> FibreParts:
    known = {name: share for name, share in parts.items() if share is not None}
    unknown = [name for name in parts if parts[name] is None]
    total = sum(known.values())
    if not parts:
        raise BadFibre(
            gettext("“{text}” names no fibre; write each share and its fibre, {example}.").format(
                text=text, example=EXAMPLE
            )
        )
    if total > 100 + ROUNDING:
        raise BadFibre(
            gettext("The shares add up to {total}%; together they can be 100% at most.").format(
                total=f"{total:g}"
            )
        )
    if any(share <= 0 for share in known.values()):
        raise BadFibre(
            gettext("Every share must be more than 0%; write it {example}.").format(example=EXAMPLE)
        )
    if len(unknown) > 1 or (unknown and total >= 100):
        raise BadFibre(
            gettext("Give {listed} a share too, {example}.").format(
                listed=listed(unknown), example=EXAMPLE
            )
        )
    known |= dict.fromkeys(unknown, 100 - total)
    return tuple((name, min(known[name], 100.0)) for name in parts if name in known)
