"""What a ball band's fibre and care mean for yarns that end up in one fabric.

Everything here is common practice among knitters, not a standard; a ball band overrules it.
"""

import re
from enum import IntEnum

from palettes.colour.swatch import Swatch

# In English and German, as ball bands say it; words alike in both stand once.
# Animal hair has scales that lock when it is rubbed warm and wet; silk and the rest have none.
FELTING_WORDS = frozenset(
    {
        "alpaca",
        "alpaka",
        "alpakawolle",
        "angora",
        "bison",
        "camel",
        "cashmere",
        "corriedale",
        "falkland",
        "guanaco",
        "hair",
        "kamel",
        "kaschmir",
        "lama",
        "lambswool",
        "lammwolle",
        "leicester",
        "llama",
        "merino",
        "merinowolle",
        "mohair",
        "mohairwolle",
        "polwarth",
        "possum",
        "qiviut",
        "rambouillet",
        "romney",
        "schafwolle",
        "schurwolle",
        "shetland",
        "targhee",
        "wolle",
        "wool",
        "yak",
    }
)
SILK_WORDS = frozenset(
    {
        "maulbeerseide",
        "seide",
        "silk",
        "tussah",
        "tussahseide",
    }
)
PLANT_WORDS = frozenset(
    {
        "bamboo",
        "bambus",
        "baumwolle",
        "brennnessel",
        "cotton",
        "flachs",
        "flax",
        "hanf",
        "hemp",
        "leinen",
        "linen",
        "lyocell",
        "modal",
        "nettle",
        "ramie",
        "rayon",
        "viscose",
        "viskose",
    }
)
SYNTHETIC_WORDS = frozenset(
    {
        "acryl",
        "acrylic",
        "elastane",
        "elasthan",
        "lurex",
        "metallic",
        "microfiber",
        "microfibre",
        "mikrofaser",
        "nylon",
        "polyacryl",
        "polyamid",
        "polyamide",
        "polyester",
        "stellina",
    }
)
KINDS = ("animal", "silk", "plant", "synthetic")
# "Dry flat" and "do not tumble dry" say how to dry what was washed.
_DRY_CLEAN = re.compile(r"^dry$|(?<!not )\bdry[\s-]*clean")
_NOT_SUPERWASH = re.compile(r"(?:non|not|nicht)[\s-]*superwash")
MIN_FELTING_SHARE = 50.0  # per cent; our choice, below it a yarn shrinks little


class Delicacy(IntEnum):
    """How gently a yarn has to be washed; the higher, the gentler."""

    MACHINE = 1
    HAND = 2
    DRY_CLEAN = 3


def delicacy(swatch: Swatch) -> Delicacy | None:
    """Return how gently the yarn has to be washed, or None when nobody said."""
    care = (swatch.care or "").lower()
    if _DRY_CLEAN.search(care):
        return Delicacy.DRY_CLEAN
    if "hand" in care:
        return Delicacy.HAND
    return Delicacy.MACHINE if "machine" in care or is_superwash(swatch) else None


def is_superwash(swatch: Swatch) -> bool:
    """Return whether the yarn is wool treated not to felt: said outright, or machine washable."""
    words = f"{swatch.care or ''} {swatch.name} {_fibre_text(swatch)}".lower()
    if "superwash" in words and "superwash" in _NOT_SUPERWASH.sub("", words):
        return True
    return _hair(swatch) > 0 and "machine" in (swatch.care or "").lower()


def may_felt(swatch: Swatch) -> bool:
    """Return whether the yarn is mostly animal hair that is known not to be treated."""
    if _hair(swatch) < MIN_FELTING_SHARE or is_superwash(swatch):
        return False
    return delicacy(swatch) in (Delicacy.HAND, Delicacy.DRY_CLEAN)


def _hair(swatch: Swatch) -> float:
    return sum(share for name, share in swatch.fibre if _is(name, FELTING_WORDS))


def main_kind(swatch: Swatch) -> str | None:
    """Return 'animal', 'silk', 'plant' or 'synthetic', whichever most of the yarn is, or None."""
    totals = dict.fromkeys(KINDS, 0.0)
    for name, share in swatch.fibre:
        kind = _kind(name)
        if kind:
            totals[kind] += share
    kind, most = max(totals.items(), key=lambda item: item[1])
    return kind if most > 0 else None


def kinds_of(swatch: Swatch) -> frozenset[str]:
    """Return which of `KINDS` the yarn is known to have in it."""
    return frozenset(kind for name, _ in swatch.fibre if (kind := _kind(name)))


def _kind(name: str) -> str | None:
    for kind, words in (
        ("plant", PLANT_WORDS),
        ("synthetic", SYNTHETIC_WORDS),
        ("silk", SILK_WORDS),
        ("animal", FELTING_WORDS),
    ):
        if _is(name, words):
            return kind
    return None


def _is(name: str, words: frozenset[str]) -> bool:
    return any(word in words for word in re.findall(r"[a-z]+", name.lower()))


def _fibre_text(swatch: Swatch) -> str:
    return " ".join(name for name, _ in swatch.fibre)
