"""What would help one palette whose meetings do not all read, with its letters given out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from palettes.colour.contrast import JUST_NOTICEABLE
from palettes.colour.crowd import best_of_each, try_meetings, try_swaps
from palettes.colour.letters import ALPHABET, Meeting
from palettes.colour.pair_matrix import PairsLeft, left_of, pairs_left
from palettes.colour.spaces import Floats
from palettes.colour.stripes import as_arrays
from palettes.colour.swatch import Fabric, Swatch


@dataclass(frozen=True, slots=True)
class Replacement:
    """Spare number `spare`, from 0, in place of the yarn that is `letter`."""

    letter: str
    spare: int
    worst_before: float
    worst_after: float
    """The worst margin of every meeting, in CIEDE2000, now and then."""


def best_letter_swap(
    swatches: Sequence[Swatch],
    here: Sequence[Meeting],
    every: Sequence[Meeting],
    yarns: Sequence[int],
    fabric: Fabric,
) -> tuple[str, str] | None:
    """Return the two letters whose exchange helps `here` and harms nothing in `every` meeting."""
    left = left_of(swatches, fabric)
    one = PairsLeft(left.at_arm[np.newaxis], left.throughout[np.newaxis])
    order = np.array([yarns])
    swaps = (try_swaps(one, len(swatches), meetings, order) for meetings in (here, every))
    return best_of_each(*swaps)[0]


def best_replacement(
    swatches: Sequence[Swatch],
    spares: Sequence[Swatch],
    here: Sequence[Meeting],
    every: Sequence[Meeting],
    yarns: Sequence[int],
    fabric: Fabric,
) -> Replacement | None:
    """Return the spare that helps `here` in a letter's place and harms nothing in `every` meeting.

    To help is to lift the worst margin here by a just noticeable difference. Of those that do, it
    is the one with the best worst margin of all, then here; then the first letter's first spare.
    """
    if not spares or not here:
        return None
    places = [(letter, spare) for letter in range(len(yarns)) for spare in range(len(spares))]
    left = pairs_left(*_with_each_spare(swatches, spares, yarns, places), fabric)
    orders = np.tile(np.arange(len(yarns)), (len(places) + 1, 1))
    near, overall = (
        try_meetings(left, len(yarns), meetings, orders).margins.min(axis=1).round(6).tolist()
        for meetings in (here, every)
    )
    helpful = [
        row
        for row in range(1, len(places) + 1)
        if near[row] - near[0] >= JUST_NOTICEABLE and overall[row] >= overall[0]
    ]
    if not helpful:
        return None
    best = max(helpful, key=lambda row: (overall[row], near[row], -row))
    letter, spare = places[best - 1]
    return Replacement(ALPHABET[letter], spare, overall[0], overall[best])


def _with_each_spare(
    swatches: Sequence[Swatch],
    spares: Sequence[Swatch],
    yarns: Sequence[int],
    places: Sequence[tuple[int, int]],
) -> tuple[Floats, Floats]:
    """Return L*a*b* and textures by letter as they are, then with each spare in its place."""
    labs, textures = as_arrays([swatches[yarn] for yarn in yarns])
    spare_labs, spare_textures = as_arrays(spares)
    tried_labs = np.tile(labs, (len(places) + 1, 1, 1))
    tried_textures = np.tile(textures, (len(places) + 1, 1))
    for row, (letter, spare) in enumerate(places, start=1):
        tried_labs[row, letter] = spare_labs[spare]
        tried_textures[row, letter] = spare_textures[spare]
    return tried_labs, tried_textures
