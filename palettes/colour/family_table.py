"""The table of borders between colour families, and where each border lies for a colour.

All in CIE LCh_ab: L* 0..100, chroma C*ab, hue angle h_ab in degrees. docs/families.md explains
the table in words; `benchmarks/families_accuracy.py --derive` prints it anew.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from palettes.colour.spaces import Floats

# A hue border is given for dull and for vivid colours: at this chroma or below, and at this or
# above. In between it runs straight. Our choice: most yarn lies between the two.
DULL_CHROMA = 15.0
VIVID_CHROMA = 75.0

# Where each sector of the hue circle begins. The first two numbers are the L* up to which the
# dark columns hold and from which the light columns do; the other four are degrees.
#   from, to,  dark: dull, vivid,  light: dull, vivid
HUE_BORDERS: Final = (
    (20, 80, 344, 342, 339, 324),  # red and pink, after purple
    (45, 70, 21, 51, 63, 42),  # orange and brown, after red below and pink above
    (20, 80, 76, 76, 73, 73),  # yellow and brown
    (50, 70, 94, 94, 107, 107),  # green: dark olives are greens, their light cousins yellows
    (20, 80, 174, 169, 171, 162),  # teal
    (60, 85, 240, 238, 202, 204),  # blue
    (20, 80, 297, 313, 293, 301),  # purple
)

# Within the first three sectors lightness decides. The first two numbers are hues in degrees,
# low and high; the other four are the L* from which the lighter family's name is used.
#   low, high,  at low: dull, vivid,  at high: dull, vivid
LIGHTNESS_BORDERS: Final = (
    (-15, 35, 47, 41, 61, 61),  # pink above red
    (45, 75, 64, 46, 76, 48),  # orange above brown
    (75, 100, 80, 66, 67, 63),  # yellow above brown
)

# The chroma under which a colour of that hue is a neutral, at L* 20, 60 and 95.
NEUTRAL_LIGHTNESS: Final = (20.0, 60.0, 95.0)
#   hue,  dark, medium, light
NEUTRAL_LIMITS: Final = (
    (0, 6, 6, 6),
    (45, 7, 9, 8),
    (80, 9, 13, 17),
    (105, 8, 14, 28),  # creams are neutral
    (150, 10, 12, 10),
    (220, 9, 10, 8),
    (280, 9, 9, 8),
    (330, 9, 10, 7),
)

# Our choice: about one just noticeable difference above black there is no hue to see.
BLACK_LIGHTNESS = 1.0


@dataclass(frozen=True, eq=False)
class FamilyTable:
    """The three lists of borders as arrays, one row to a border, columns as in this module."""

    hue: Floats
    lightness: Floats
    neutral: Floats

    def hue_borders(self, light: Floats, chroma: Floats) -> Floats:
        """Return in degrees where each sector begins: shapes (n,), (n,) -> (7, n)."""
        start, end, *corners = self.hue.T[:, :, np.newaxis]
        return _between_corners(corners, _share(light, start, end), _vividness(chroma))

    def lightness_borders(self, chroma: Floats, hue: Floats) -> Floats:
        """Return the L* of the three lightness borders: shapes (n,), (n,) -> (3, n)."""
        low, high, *corners = self.lightness.T[:, :, np.newaxis]
        middle = (low + high) / 2
        near = middle + (hue - middle + 180) % 360 - 180
        return _between_corners(corners, _share(near, low, high), _vividness(chroma))

    def neutral_limit(self, light: Floats, hue: Floats) -> Floats:
        """Return the chroma under which a colour is neutral: shapes (n,), (n,) -> (n,)."""
        nodes = self.neutral[:, 0]
        dark, medium, pale = (
            np.interp(hue, nodes, limits, period=360) for limits in self.neutral[:, 1:].T
        )
        l_dark, l_medium, l_pale = NEUTRAL_LIGHTNESS
        to_medium, to_pale = _share(light, l_dark, l_medium), _share(light, l_medium, l_pale)
        return np.asarray(dark + (medium - dark) * to_medium + (pale - medium) * to_pale)


def _share(value: Floats, start: Floats | float, end: Floats | float) -> Floats:
    return np.asarray(np.clip((value - start) / (end - start), 0, 1))


def _vividness(chroma: Floats) -> Floats:
    return _share(chroma, DULL_CHROMA, VIVID_CHROMA)


def _between_corners(corners: list[Floats], across: Floats, vivid: Floats) -> Floats:
    first_dull, first_vivid, second_dull, second_vivid = corners
    dull = first_dull + (second_dull - first_dull) * across
    bright = first_vivid + (second_vivid - first_vivid) * across
    return np.asarray(dull + (bright - dull) * vivid)


TABLE: Final = FamilyTable(
    hue=np.array(HUE_BORDERS, dtype=np.float64),
    lightness=np.array(LIGHTNESS_BORDERS, dtype=np.float64),
    neutral=np.array(NEUTRAL_LIMITS, dtype=np.float64),
)
