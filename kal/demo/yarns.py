"""Invented yarns: a colour, how it was dyed, what it is made of and how it is put up."""

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, replace

from palettes.colour.families import family_of
from palettes.colour.spaces import Lab, hex_to_lab, lab_to_hex

# Mean CIEDE2000 of a yarn's colours from their own mean: our choice, invented for the demo.
SPREADS = {
    "solid": (0.3, 1.2),
    "semi-solid": (1.5, 3.0),
    "tonal": (3.0, 5.5),
    "speckled": (7.0, 12.0),
    "variegated": (11.0, 18.0),
}
CALM_STYLES = ("solid", "semi-solid", "semi-solid", "tonal")
BUSY_STYLES = ("speckled", "variegated")

# Each family's names run from light to dark.
NAMES = {
    "red": ("Radish skin", "Signal flag", "Rosehip", "Post van", "Haw berry", "Brick kiln"),
    "pink": ("Shell inside", "Blush apple", "Ballet tape", "Thrift", "Foxglove", "Rhubarb end"),
    "orange": ("Apricot jam", "Pumpkin field", "Buoy", "Rowan", "Ember", "Fox at dusk"),
    "yellow": ("Butter dish", "Straw hat", "Gorse in March", "Quince", "Lamp oil", "Mustard pot"),
    "green": ("Pea pod", "Garden gate", "Fern frond", "Wet moss", "Bottle bank", "Spruce shade"),
    "teal": ("Sea glass", "Verdigris", "Copper roof", "Duck pond", "Kingfisher pool", "Lagoon"),
    "blue": ("Sailcloth", "Forget-me-not", "Cornflower", "Blue hour", "Ink pad", "Harbour night"),
    "purple": ("Evening lilac", "Heather slope", "Thistle", "Beetroot", "Plum jam", "Fig skin"),
    "brown": ("Milk tea", "Toast", "Old saddle", "Chestnut", "Walnut ink", "Peat"),
    "neutral": ("Chalk path", "Oat milk", "Pewter", "Ash bucket", "Wet slate", "Coal hole"),
}


@dataclass(frozen=True, slots=True)
class Base:
    """An undyed yarn as a mill might offer it: fibre, twist, care, and one ball's put-up."""

    name: str
    fibre: str
    construction: str
    care: str
    grams: int
    metres: int


BASES = (
    Base("sock yarn", "75% wool, 25% nylon", "many-ply", "machine", 100, 420),
    Base("merino singles", "100% merino", "single", "hand", 100, 366),
    Base("merino twist", "100% merino", "two-ply", "machine", 50, 200),
    Base("wool and silk", "70% wool, 30% silk", "two-ply", "hand", 50, 210),
    Base("hill wool", "100% wool", "two-ply", "hand", 50, 175),
    Base("cotton and wool", "50% cotton, 50% wool", "cabled", "machine", 50, 190),
)
USUAL_BASE = BASES[0]


@dataclass(frozen=True, slots=True)
class DemoYarn:
    """A yarn as its owner would enter it."""

    name: str
    colour: str
    dye_style: str
    spread: float
    base: Base
    balls: int


def dye(dice: random.Random, lab: Lab, styles: tuple[str, ...] = CALM_STYLES) -> DemoYarn:
    """Return a yarn of that colour, as near as a screen can show it; it has no name yet."""
    style = dice.choice(styles)
    spread = round(dice.uniform(*SPREADS[style]), 1)
    return DemoYarn("", lab_to_hex(lab), style, spread, USUAL_BASE, balls=1)


def with_names(yarns: list[DemoYarn], *, taken: Sequence[str] = ()) -> list[DemoYarn]:
    """Return the yarns named after their colour and base, no two alike nor like one `taken`."""
    named: list[DemoYarn] = []
    for yarn in yarns:
        used = [*taken, *(other.name for other in named)]
        names = (f"{word}, {yarn.base.name}" for word in words_for(yarn.colour))
        named.append(replace(yarn, name=next(name for name in names if name not in used)))
    return named


def words_for(colour: str) -> list[str]:
    """Return the names of the colour's family, the one nearest in lightness first."""
    lab = hex_to_lab(colour)
    words = NAMES[family_of(lab)]
    place = (100 - lab.l) / 100 * (len(words) - 1)
    return sorted(words, key=lambda word: abs(words.index(word) - place))


def with_enough(yarn: DemoYarn, grams: int) -> DemoYarn:
    """Return the yarn with as many balls as weigh what its letter needs."""
    return replace(yarn, balls=math.ceil(grams / yarn.base.grams))


def with_a_mini(yarn: DemoYarn) -> DemoYarn:
    """Return the yarn as one small ball, too little for any letter but the smallest."""
    mini = replace(yarn.base, name=f"{yarn.base.name}, mini", grams=20, metres=80)
    return replace(yarn, base=mini, balls=1)
