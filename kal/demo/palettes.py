"""The palettes the crowd brings: most of them sound, some of them deliberately poor."""

import random
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from math import cos, radians, sin

from kal.demo.yarns import (
    BASES,
    BUSY_STYLES,
    CALM_STYLES,
    USUAL_BASE,
    DemoYarn,
    dye,
    with_a_mini,
    with_enough,
    with_names,
)
from palettes.colour.spaces import Lab

LIGHTEST, DARKEST = 90.0, 20.0  # L* at the ends of a palette that reads well
# Chroma that sRGB can still show shrinks towards white and black; kept under this it rarely clips.
CHROMA_AT = ((0, 5.0), (25, 32.0), (50, 48.0), (75, 42.0), (100, 4.0))

type Recipe = Callable[[random.Random, int], list[DemoYarn]]


def one_family(dice: random.Random, colours: int) -> list[DemoYarn]:
    hue = dice.uniform(0, 360)
    return ladder(dice, [hue + dice.uniform(-12, 12) for _ in range(colours)])


def neighbours(dice: random.Random, colours: int) -> list[DemoYarn]:
    hue = dice.uniform(0, 360)
    return ladder(dice, [hue + dice.uniform(-45, 45) for _ in range(colours)])


def opposites(dice: random.Random, colours: int) -> list[DemoYarn]:
    hue = dice.uniform(0, 360)
    return ladder(dice, [hue + 180 * (n % 2) + dice.uniform(-15, 15) for n in range(colours)])


def all_round(dice: random.Random, colours: int) -> list[DemoYarn]:
    hue = dice.uniform(0, 360)
    hues = [hue + 360 * n / colours for n in range(colours)]
    dice.shuffle(hues)
    return ladder(dice, hues)


def neutrals_with_accent(dice: random.Random, colours: int) -> list[DemoYarn]:
    yarns = ladder(dice, [80.0] * colours, strength=0.12)
    accent = colour_at(dice.uniform(45, 60), dice.uniform(0, 360))
    yarns[colours // 2] = dye(dice, accent)
    return yarns


def mixed_fibres(dice: random.Random, colours: int) -> list[DemoYarn]:
    return [replace(yarn, base=dice.choice(BASES)) for yarn in neighbours(dice, colours)]


def two_close_darks(dice: random.Random, colours: int) -> list[DemoYarn]:
    hue = dice.uniform(180, 320)
    yarns = ladder(dice, [hue + 20 * n for n in range(colours)])
    for place, lightness in ((-1, 19.0), (-2, 22.0)):
        dark = colour_at(lightness, hue + dice.uniform(-6, 6))
        yarns[place] = dye(dice, dark, ("solid",))
    return yarns


def all_busy(dice: random.Random, colours: int) -> list[DemoYarn]:
    hue = dice.uniform(0, 360)
    hues = [hue + dice.uniform(-60, 60) for _ in range(colours)]
    return ladder(dice, hues, styles=BUSY_STYLES)


def no_light(dice: random.Random, colours: int) -> list[DemoYarn]:
    steps = [46.0 - 26.0 * n / (colours - 1) for n in range(colours)]
    return ladder(dice, [dice.uniform(0, 360) for _ in range(colours)], steps=steps)


def all_one_grey(dice: random.Random, colours: int) -> list[DemoYarn]:
    """Return yarns far apart in hue whose greyscale photo is one flat grey."""
    steps = [dice.uniform(54, 58) for _ in range(colours)]
    return ladder(dice, [360 * n / colours for n in range(colours)], steps=steps)


SOUND: tuple[Recipe, ...] = (
    *(one_family, neighbours, neighbours, opposites),
    *(all_round, neutrals_with_accent, mixed_fibres),
)
POOR: tuple[Recipe, ...] = (two_close_darks, all_busy, no_light, all_one_grey)
POOR_ONE_IN = 4
SHORT_ONE_IN = 9
SHUFFLED_ONE_IN = 3


def recipe_for(place: int) -> Recipe:
    """Return the recipe of the participant at `place`: every fourth palette has a fault."""
    turn, rest = divmod(place, POOR_ONE_IN)
    if rest == POOR_ONE_IN - 1:
        return POOR[turn % len(POOR)]
    return SOUND[(place - turn) % len(SOUND)]


def palette(dice: random.Random, place: int, grams: list[int]) -> list[DemoYarn]:
    """Return the yarns that the participant at `place` brings, one per letter, most lightest first.

    `grams` is what each letter needs; one participant in nine brings too little of one.
    """
    base = dice.choice(BASES[:3])
    dyed = recipe_for(place)(dice, len(grams))
    if place % SHUFFLED_ONE_IN == 0:
        dice.shuffle(dyed)
    yarns = [
        with_enough(replace(yarn, base=base if yarn.base == USUAL_BASE else yarn.base), need)
        for yarn, need in zip(dyed, grams, strict=True)
    ]
    if place % SHORT_ONE_IN == SHORT_ONE_IN - 1:
        short = grams.index(max(grams))
        yarns[short] = with_a_mini(yarns[short])
    return with_names(yarns)


def stash(dice: random.Random, beside: list[DemoYarn]) -> list[DemoYarn]:
    """Return a dozen more yarns of all kinds to choose among, none named like one of `beside`."""
    more = [*all_round(dice, 5), *neutrals_with_accent(dice, 4), *all_busy(dice, 3)]
    return with_names(more, taken=[yarn.name for yarn in beside])


def ladder(
    dice: random.Random,
    hues: list[float],
    *,
    steps: list[float] | None = None,
    styles: tuple[str, ...] = CALM_STYLES,
    strength: float = 1.0,
) -> list[DemoYarn]:
    """Return one yarn per hue, stepping down in lightness, with a little human unevenness."""
    lightnesses = steps or rungs(len(hues))
    return [
        dye(dice, colour_at(lightness + dice.uniform(-2, 2), hue, strength), styles)
        for lightness, hue in zip(lightnesses, hues, strict=True)
    ]


def rungs(count: int) -> list[float]:
    """Return `count` values of L* spaced evenly over the ladder's own range."""
    return [LIGHTEST + (DARKEST - LIGHTEST) * n / (count - 1) for n in range(count)]


def colour_at(lightness: float, hue: float, strength: float = 1.0) -> Lab:
    """Return a colour of that L* and hue angle, in degrees, about as vivid as dye would make it."""
    chroma = chroma_at(lightness) * strength
    return Lab(lightness, chroma * cos(radians(hue)), chroma * sin(radians(hue)))


def chroma_at(lightness: float) -> float:
    for (low, chroma), (high, next_chroma) in pairwise(CHROMA_AT):
        if lightness <= high:
            return chroma + (next_chroma - chroma) * (lightness - low) / (high - low)
    return CHROMA_AT[-1][1]
