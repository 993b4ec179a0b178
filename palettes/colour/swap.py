"""The one exchange of a yarn for a spare that helps a palette's pairs most."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from palettes.colour.contrast import JUST_NOTICEABLE, STRONG_FROM
from palettes.colour.pair_matrix import left_of, square
from palettes.colour.spaces import Floats
from palettes.colour.stripes import pair_indices
from palettes.colour.swatch import Fabric, Swatch


@dataclass(frozen=True, slots=True)
class Swap:
    """Put spare number `spare` (from 0) in the place of the palette's yarn number `out`."""

    out: int
    spare: int
    left_before: float
    """CIEDE2000 left of the closest pair now."""
    left_after: float
    """CIEDE2000 left of the closest pair once swapped."""


def best_swap(swatches: Sequence[Swatch], spares: Sequence[Swatch], fabric: Fabric) -> Swap | None:
    """Return the swap that lifts the closest pair most, or None when none lifts it noticeably.

    Of swaps that lift it alike, the one whose next closest pairs are further apart, then the one
    of the earlier yarn and spare. What is beyond strong counts no more than strong.
    """
    if not spares:
        return None
    count = len(swatches)
    every = (*swatches, *spares)
    left = square(left_of(every, fabric).throughout, len(every))
    before = float(_closest_first(left, np.arange(count)[np.newaxis])[0, 0])
    swaps = [(out, spare) for out in range(count) for spare in range(len(spares))]
    palettes = np.tile(np.arange(count), (len(swaps), 1))
    palettes[np.arange(len(swaps)), [out for out, _ in swaps]] = [count + s for _, s in swaps]
    after = _closest_first(left, palettes)
    # Rounded, so that a difference in the last bit cannot decide which of two equals is named.
    merits = np.minimum(after, STRONG_FROM).round(6).tolist()
    best = max(range(len(swaps)), key=lambda i: (merits[i], -i))
    lifted = float(after[best, 0])
    if merits[best][0] - before < JUST_NOTICEABLE:
        return None
    return Swap(*swaps[best], left_before=before, left_after=lifted)


def _closest_first(
    left: Floats, palettes: np.ndarray[tuple[int, int], np.dtype[np.intp]]
) -> Floats:
    """Return what is left of every pair of each palette, closest first: (palettes, pairs)."""
    firsts, seconds = pair_indices(palettes.shape[1])
    return np.sort(left[palettes[:, firsts], palettes[:, seconds]], axis=1)
