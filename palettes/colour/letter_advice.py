"""What would help one palette whose meetings do not all read, with its letters given out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from palettes.colour.contrast import JUST_NOTICEABLE
from palettes.colour.crowd import try_meetings, try_swaps
from palettes.colour.letters import ALPHABET, Meeting
from palettes.colour.pair_matrix import left_of, pairs_left
from palettes.colour.stripes import as_arrays
from palettes.colour.swatch import Fabric, Swatch


@dataclass(frozen=True, slots=True)
class Replacement:
    """Spare number `spare`, from 0, in place of the yarn that is `letter`."""

    letter: str
    spare: int
    worst_before: float
    worst_after: float
    """The worst margin, in CIEDE2000, now and then."""


def best_letter_swap(
    swatches: Sequence[Swatch], meetings: Sequence[Meeting], yarns: Sequence[int], fabric: Fabric
) -> tuple[str, str] | None:
    """Return the two letters whose exchange lifts the worst margin most; None if none does."""
    left = left_of(swatches, fabric)
    one = type(left)(left.at_arm[np.newaxis], left.throughout[np.newaxis])
    return try_swaps(one, len(swatches), meetings, np.array([yarns])).best_of(0)


def best_replacement(
    swatches: Sequence[Swatch],
    spares: Sequence[Swatch],
    meetings: Sequence[Meeting],
    yarns: Sequence[int],
    fabric: Fabric,
) -> Replacement | None:
    """Return the spare that lifts the worst margin most in a letter's place; None if none does.

    A lift counts from a just noticeable difference. Of equal ones, the first letter's first spare.
    """
    if not spares or not meetings:
        return None
    places = [(letter, spare) for letter in range(len(yarns)) for spare in range(len(spares))]
    labs, textures = as_arrays([swatches[yarn] for yarn in yarns])
    spare_labs, spare_textures = as_arrays(spares)
    tried_labs = np.tile(labs, (len(places) + 1, 1, 1))
    tried_textures = np.tile(textures, (len(places) + 1, 1))
    for row, (letter, spare) in enumerate(places, start=1):
        tried_labs[row, letter] = spare_labs[spare]
        tried_textures[row, letter] = spare_textures[spare]
    count = len(yarns)
    orders = np.tile(np.arange(count), (len(tried_labs), 1))
    left = pairs_left(tried_labs, tried_textures, fabric)
    worst = try_meetings(left, count, meetings, orders).margins.min(axis=1)
    best = 1 + int(worst[1:].round(6).argmax())
    if worst[best] - worst[0] < JUST_NOTICEABLE:
        return None
    letter, spare = places[best - 1]
    return Replacement(ALPHABET[letter], spare, float(worst[0]), float(worst[best]))
