"""The family a colour belongs to, in the words a knitter shops by.

A colour of too little chroma is a neutral. Otherwise its hue picks one of seven sectors, and in
the three warm ones its lightness picks the name: pink or red, orange or brown, yellow or brown.
The borders are in `family_table`; docs/families.md gives reasons and measured accuracy.
"""

from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from palettes.colour.difference import delta_e_2000_pairs
from palettes.colour.family_table import BLACK_LIGHTNESS, TABLE, FamilyTable
from palettes.colour.spaces import Floats, Lab, check_lab, chroma, hue_angle


class Family(StrEnum):
    """The ten families, in the order in which they are listed to a person."""

    RED = "red"
    PINK = "pink"
    ORANGE = "orange"
    YELLOW = "yellow"
    GREEN = "green"
    TEAL = "teal"
    BLUE = "blue"
    PURPLE = "purple"
    BROWN = "brown"
    NEUTRAL = "neutral"


FAMILIES: Final = tuple(Family)
_INDEX: Final = {family: i for i, family in enumerate(FAMILIES)}

# The families of each sector of hue: below and above its lightness border. Four have no border.
SECTORS: Final = (
    (Family.RED, Family.PINK),
    (Family.BROWN, Family.ORANGE),
    (Family.BROWN, Family.YELLOW),
    (Family.GREEN, Family.GREEN),
    (Family.TEAL, Family.TEAL),
    (Family.BLUE, Family.BLUE),
    (Family.PURPLE, Family.PURPLE),
)
_SECTOR_FAMILIES: Final = np.array([[_INDEX[family] for family in pair] for pair in SECTORS])

# CIEDE2000. A colour this close to another family belongs to both; reasons in docs/families.md.
BORDER_WIDTH = 3.0
# How finely the surroundings are searched for a border: shells of equal step, 26 ways out.
BORDER_STEPS = 6
LENGTH_CORRECTIONS = 3
# Colours searched around in one go, which bounds the memory a long list takes.
AT_ONCE = 1000

# Our choice, near Munsell values 8.5 and 2: undyed white wool lies above the first, and what
# shops call black below the second.
WHITE_LIGHTNESS = 86.0
BLACK_SHADE_LIGHTNESS = 21.0
# Our choice: a pale neutral is a cream when it is visibly warm.
CREAM_LIGHTNESS = 78.0
CREAM_CHROMA = 6.0
CREAM_HUES = (40.0, 115.0)
# A beige is darker than a cream, from about Munsell value 6, and yellow to brown of hue: our
# choice. Its chroma begins above what the ISCC-NBS still calls grey, whose yellowish gray has 10.
BEIGE_LIGHTNESS = 60.0
BEIGE_CHROMA = 11.0
BEIGE_HUES = (60.0, 105.0)


def family_of(lab: Lab) -> Family:
    """Return the family of one colour; BadLab when it is not a colour."""
    return FAMILIES[int(name_families(check_lab(lab)))]


def families_of(lab: Lab) -> tuple[Family, ...]:
    """Return the colour's family, and after it the next one when that is near.

    Near means that some colour within `BORDER_WIDTH` CIEDE2000 has the other family's name.
    """
    first, second = name_two_families(np.array([check_lab(lab)]))
    names = (int(first[0]), int(second[0]))
    return tuple(FAMILIES[index] for index in names if index >= 0)


def shade_of(lab: Lab) -> str:
    """Return the plain word below the family: white, cream, beige, grey or black for a neutral.

    For any other family it is the family's own word.
    """
    family = family_of(lab)
    return _neutral_shade(lab) if family is Family.NEUTRAL else family.value


def _neutral_shade(lab: Lab) -> str:
    if _is_warm(lab, CREAM_HUES, CREAM_CHROMA) and lab.l >= CREAM_LIGHTNESS:
        return "cream"
    if _is_warm(lab, BEIGE_HUES, BEIGE_CHROMA) and BEIGE_LIGHTNESS <= lab.l < CREAM_LIGHTNESS:
        return "beige"
    if lab.l >= WHITE_LIGHTNESS:
        return "white"
    return "black" if lab.l < BLACK_SHADE_LIGHTNESS else "grey"


def _is_warm(lab: Lab, hues: tuple[float, float], least: float) -> bool:
    return hues[0] <= hue_angle(lab) <= hues[1] and chroma(lab) >= least


def name_families(labs: ArrayLike, table: FamilyTable = TABLE) -> NDArray[np.intp]:
    """Return each colour's place in `FAMILIES`: shape (..., 3) -> (...)."""
    values = np.asarray(labs, dtype=np.float64)
    light, a, b = values.reshape(-1, 3).T
    chromas, hues = np.hypot(a, b), np.degrees(np.arctan2(b, a))
    # Measured round the circle from the first border, a sector's number is the borders passed.
    borders = table.hue_borders(light, chromas)
    passed = (hues - borders[0]) % 360 >= (borders[1:] - borders[0]) % 360
    sector = passed.sum(axis=0)
    above = np.zeros(len(light), dtype=np.intp)
    for warm, border in enumerate(table.lightness_borders(chromas, hues)):
        above[(sector == warm) & (light >= border)] = 1
    named = _SECTOR_FAMILIES[sector, above]
    neutral = (chromas < table.neutral_limit(light, hues)) | (light < BLACK_LIGHTNESS)
    named[neutral] = _INDEX[Family.NEUTRAL]
    return np.asarray(named.reshape(values.shape[:-1]))


def name_two_families(
    labs: ArrayLike, width: float = BORDER_WIDTH
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return each colour's own family and the nearest other within `width`, else -1.

    Both are places in `FAMILIES`; shape (n, 3) -> (n,), (n,). `width` is in CIEDE2000.
    """
    values = np.asarray(labs, dtype=np.float64).reshape(-1, 3)
    own = name_families(values)
    second = np.full(len(values), -1, dtype=np.intp)
    for start in range(0, len(values), AT_ONCE):
        rows = slice(start, start + AT_ONCE)
        second[rows] = _nearest_other(_search(values[rows], width), own[rows])
    return own, second


def _search(labs: Floats, width: float) -> NDArray[np.intp]:
    distances = np.repeat(width * np.arange(1, BORDER_STEPS + 1) / BORDER_STEPS, len(WAYS_OUT))
    around = surroundings(labs, distances, np.tile(WAYS_OUT, (BORDER_STEPS, 1)))
    return name_families(around).reshape(-1, BORDER_STEPS, len(WAYS_OUT))


def _nearest_other(near: NDArray[np.intp], own: NDArray[np.intp]) -> NDArray[np.intp]:
    # In the first shell that holds another family, the one most ways out lead to.
    counts = np.stack([(near == index).sum(axis=2) for index in range(len(FAMILIES))], axis=2)
    rows = np.arange(len(own))
    counts[rows, :, own] = 0
    found = counts.any(axis=2)
    shell = counts[rows, found.argmax(axis=1)]
    return np.where(found.any(axis=1), shell.argmax(axis=1), -1)


def _ways_out() -> Floats:
    steps = np.array(np.meshgrid(*[(-1.0, 0.0, 1.0)] * 3)).reshape(3, -1).T
    ways = steps[np.any(steps != 0, axis=1)]
    return np.asarray(ways / np.linalg.norm(ways, axis=1, keepdims=True))


WAYS_OUT: Final = _ways_out()


def surroundings(labs: Floats, distance: Floats | float, ways: Floats = WAYS_OUT) -> Floats:
    """Return colours at `distance` CIEDE2000 from each colour: (n, 3) -> (n, ways, 3).

    `ways` are unit steps in lightness, chroma and hue; `distance` may differ from way to way.
    L* is kept within 0..100, so next to white and black some come out closer.
    """
    centres = labs[:, np.newaxis, :]
    steps = _local_steps(labs, ways) * np.reshape(distance, (-1, 1))
    # CIEDE2000's weights drift on the way, so the length is measured and corrected.
    for _ in range(LENGTH_CORRECTIONS):
        reached = delta_e_2000_pairs(centres + steps, centres)
        steps *= (distance / reached)[..., np.newaxis]
    around = centres + steps
    around[..., 0] = np.clip(around[..., 0], 0, 100)
    return np.asarray(around)


def _local_steps(labs: Floats, ways: Floats) -> Floats:
    # One unit of each of CIEDE2000's main terms, its hue weight and blue rotation left to the
    # correction above.
    light, a, b = labs.T
    chromas, hues = np.hypot(a, b), np.arctan2(b, a)
    off = (light - 50) ** 2
    scale_l = 1 + 0.015 * off / np.sqrt(20 + off)
    to_l = ways[:, 0] * scale_l[:, np.newaxis]
    to_c = ways[:, 1] * (1 + 0.045 * chromas)[:, np.newaxis]
    to_h = ways[:, 2] * (1 + 0.015 * chromas)[:, np.newaxis]
    cos, sin = np.cos(hues)[:, np.newaxis], np.sin(hues)[:, np.newaxis]
    return np.stack([to_l, to_c * cos - to_h * sin, to_c * sin + to_h * cos], axis=-1)
