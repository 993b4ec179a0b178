"""The colours of every registered palette of a knit-along, as arrays, for working on a crowd."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import batched

import numpy as np
from django.db.models import QuerySet
from numpy.typing import NDArray

from kal.models import KnitAlong
from palettes.colour.spaces import Floats
from palettes.colour.swatch import TYPICAL_SPREAD
from palettes.models import RegisteredYarn

# Rows made into arrays at a time: enough to be quick, few enough to take little memory.
AT_ONCE = 20_000

type Rows = Iterable[tuple[int, float, float, float, float, str]]


@dataclass(frozen=True, slots=True, eq=False)
class CrowdRows:
    """Registered palettes with the same number of yarns, a row each, by registration."""

    registrations: NDArray[np.int64]
    """Primary keys, rising: (palettes,)."""
    labs: Floats
    """(palettes, yarns, 3)"""
    textures: Floats
    """(palettes, yarns), as `Swatch.texture` has it."""

    @property
    def yarns(self) -> int:
        return int(self.labs.shape[1])

    def __len__(self) -> int:
        return len(self.registrations)


def read_crowd(knit_along: KnitAlong) -> list[CrowdRows]:
    """Return the current palettes of those who take part, grouped by their number of yarns."""
    return read_rows(
        RegisteredYarn.objects.filter(
            registration__knit_along=knit_along,
            registration__is_current=True,
            registration__palette__participant__left_at=None,
        )
    )


def read_rows(yarns: QuerySet[RegisteredYarn]) -> list[CrowdRows]:
    """Return the chosen ones of these yarns as palettes, fewest yarns first."""
    rows = (
        yarns.filter(is_spare=False)
        .order_by("registration_id", "position")
        .values_list("registration_id", "lab_l", "lab_a", "lab_b", "spread", "dye_style")
    )
    keys, colours = _as_arrays(rows.iterator(AT_ONCE))
    registrations, starts, sizes = np.unique(keys, return_index=True, return_counts=True)
    parts = []
    for size in np.unique(sizes).tolist():
        ours = sizes == size
        taken = colours[starts[ours][:, np.newaxis] + np.arange(size)]
        parts.append(CrowdRows(registrations[ours], taken[..., :3], taken[..., 3]))
    return parts


def _as_arrays(rows: Rows) -> tuple[NDArray[np.int64], Floats]:
    """Return registrations (rows,) and L*, a*, b*, texture (rows, 4)."""
    keys, colours = [np.empty(0, dtype=np.int64)], [np.empty((0, 4))]
    for batch in batched(rows, AT_ONCE):
        key, *lab, spreads, styles = zip(*batch, strict=True)
        keys.append(np.array(key, dtype=np.int64))
        typical = np.array([TYPICAL_SPREAD.get(style, 0.0) for style in styles])
        measured = np.array(spreads)
        texture = np.where(measured != 0, measured, typical)
        colours.append(np.stack([*map(np.array, lab), texture], axis=1))
    return np.concatenate(keys), np.concatenate(colours)
