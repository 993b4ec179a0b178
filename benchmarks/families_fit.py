"""Derive the table of family borders from a starting table and named colours.

The starting table is general knowledge of colour naming, from memory: the hue ranges of the
ISCC-NBS method, the foci of the basic colour terms (brown is a dark orange or yellow, pink a light
red), olive counted as green and cream as neutral. The fit may move each border a little where the
named colours ask for it, so a list it has never seen cannot surprise it much.
"""

from typing import Final

import numpy as np
from scipy.optimize import minimize

from benchmarks.family_names import NamedColours
from palettes.colour.families import FAMILIES, SECTORS
from palettes.colour.family_table import FamilyTable
from palettes.colour.spaces import Floats

START: Final = FamilyTable(
    hue=np.array(
        [
            [20, 80, 342, 342, 338, 330],
            [45, 70, 28, 46, 62, 43],
            [20, 80, 76, 76, 74, 74],
            [50, 70, 94, 94, 106, 105],
            [20, 80, 172, 168, 172, 162],
            [60, 85, 238, 238, 208, 205],
            [20, 80, 297, 310, 297, 303],
        ],
        dtype=np.float64,
    ),
    lightness=np.array(
        [[-15, 35, 46, 44, 60, 58], [45, 75, 64, 50, 76, 50], [75, 100, 78, 66, 70, 66]],
        dtype=np.float64,
    ),
    neutral=np.array(
        [
            [0, 6, 6, 6],
            [45, 8, 9, 9],
            [80, 9, 12, 17],
            [105, 9, 13, 27],
            [150, 10, 12, 10],
            [220, 9, 10, 8],
            [280, 9, 9, 8],
            [330, 9, 9, 7],
        ],
        dtype=np.float64,
    ),
)

# How far, as one standard deviation, a border may be thought to lie from its start.
HUE_DOUBT = 4.0
LIGHTNESS_DOUBT = 4.0
CHROMA_DOUBT = 1.5
# How wide a border is to the fit: people do not switch from one name to the next at a line.
HUE_BLUR = 3.0
LIGHTNESS_BLUR = 3.0
CHROMA_BLUR = 1.5
# One name in ten is taken to be a slip, so that no single row pulls a border far.
SLIPS = 0.1
# A standard's block stands for many colours, and there are fewer of them.
STANDARD_WEIGHT = 1.5
STEPS = 60

_HUES, _LIGHTS = START.hue[:, 2:].size, START.lightness[:, 2:].size
_DOUBTS: Final = np.concatenate(
    [
        np.full(_HUES, HUE_DOUBT),
        np.full(_LIGHTS, LIGHTNESS_DOUBT),
        np.full(START.neutral[:, 1:].size, CHROMA_DOUBT),
    ]
)
_LOWER, _UPPER = (np.array([FAMILIES.index(pair[side]) for pair in SECTORS]) for side in (0, 1))


def derive(survey: NamedColours, standard: NamedColours) -> FamilyTable:
    """Return the table most likely to give these names, given the starting table."""
    labs = np.concatenate([survey.labs, standard.labs])
    families = np.concatenate([survey.families, standard.families])
    weights = np.repeat([1.0, STANDARD_WEIGHT], [len(survey.names), len(standard.names)])
    rows = np.arange(len(families))

    def unlikeliness(moves: Floats) -> float:
        chances = memberships(labs, _moved(moves))[rows, families]
        doubt = np.log((1 - SLIPS) * chances + SLIPS / len(FAMILIES))
        return float(moves @ moves / 2 - weights @ doubt)

    found = minimize(
        unlikeliness, np.zeros(len(_DOUBTS)), method="L-BFGS-B", options={"maxiter": STEPS}
    )
    return _moved(found.x)


def rounded(table: FamilyTable) -> FamilyTable:
    """Return the table in whole degrees, L* and chroma, as it is written down."""
    return FamilyTable(*(np.rint(part) for part in (table.hue, table.lightness, table.neutral)))


def _moved(moves: Floats) -> FamilyTable:
    steps = moves * _DOUBTS
    hue, lightness, neutral = START.hue.copy(), START.lightness.copy(), START.neutral.copy()
    hue[:, 2:] += steps[:_HUES].reshape(hue[:, 2:].shape)
    lightness[:, 2:] += steps[_HUES : _HUES + _LIGHTS].reshape(lightness[:, 2:].shape)
    neutral[:, 1:] += steps[_HUES + _LIGHTS :].reshape(neutral[:, 1:].shape)
    return FamilyTable(hue, lightness, neutral)


def memberships(labs: Floats, table: FamilyTable, blur: float = 1.0) -> Floats:
    """Return how likely each family's name is, with blurred borders: (n, 3) -> (n, 10).

    As `blur` goes to 0 the likeliest is what `name_families` says.
    """
    light, a, b = labs.T
    chromas, hues = np.hypot(a, b), np.degrees(np.arctan2(b, a))
    sectors = _sector_shares(hues, table.hue_borders(light, chromas), _hue_blur(chromas) * blur)
    lighter = np.ones_like(sectors)
    lines = table.lightness_borders(chromas, hues)
    lighter[: len(lines)] = _rise((light - lines) / (LIGHTNESS_BLUR * blur))
    neutral = _rise((table.neutral_limit(light, hues) - chromas) / (CHROMA_BLUR * blur))
    chances = np.zeros((len(FAMILIES), len(labs)))
    np.add.at(chances, _UPPER, sectors * lighter * (1 - neutral))
    np.add.at(chances, _LOWER, sectors * (1 - lighter) * (1 - neutral))
    chances[-1] += neutral
    return chances.T


def _hue_blur(chromas: Floats) -> Floats:
    # A degree of hue is a smaller step in a dull colour than in a vivid one.
    return np.asarray(HUE_BLUR + 60 / np.maximum(chromas, 5))


def _sector_shares(hues: Floats, borders: Floats, blur: Floats) -> Floats:
    past = (hues - borders + 180) % 360 - 180
    inside = _rise(past / blur) * _rise(-np.roll(past, -1, axis=0) / blur)
    return np.asarray(inside / np.maximum(inside.sum(axis=0), 1e-12))


def _rise(steps: Floats) -> Floats:
    return np.asarray(1 / (1 + np.exp(-np.clip(steps, -60, 60))))
