"""The colours of every registered palette of a knit-along, as arrays, for working on a crowd."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import batched
from typing import Any

import numpy as np
from django.db.models import FloatField, QuerySet
from django.db.models.expressions import Combinable
from django.db.models.functions import Cast
from numpy.typing import NDArray

from kal.models import KnitAlong
from palettes.colour.spaces import Floats
from palettes.colour.swatch import TYPICAL_SPREAD
from palettes.models import RegisteredYarn

# Rows made into arrays at a time: enough to be quick, few enough to take little memory.
AT_ONCE = 20_000
PUT_UPS = ("put_up_grams", "put_up_metres")

type Rows = Iterable[tuple[Any, ...]]


@dataclass(frozen=True, slots=True, eq=False)
class CrowdRows:
    """Registered palettes with the same number of yarns, a row each, by registration."""

    registrations: NDArray[np.int64]
    """Primary keys, rising: (palettes,)."""
    labs: Floats
    """(palettes, yarns, 3)"""
    textures: Floats
    """(palettes, yarns), as `Swatch.texture` has it."""
    held: Floats | None = None
    """Grams and metres, NaN where unknown: (palettes, yarns, 2); None unless asked for."""

    @property
    def yarns(self) -> int:
        return int(self.labs.shape[1])

    def __len__(self) -> int:
        return len(self.registrations)


def read_crowd(knit_along: KnitAlong, *, with_amounts: bool = False) -> list[CrowdRows]:
    """Return the current palettes of those who take part, grouped by their number of yarns."""
    yarns = RegisteredYarn.objects.filter(
        registration__knit_along=knit_along,
        registration__is_current=True,
        registration__palette__participant__left_at=None,
    )
    return read_rows(yarns, with_amounts=with_amounts)


def read_rows(yarns: QuerySet[RegisteredYarn], *, with_amounts: bool = False) -> list[CrowdRows]:
    """Return the chosen ones of these yarns as palettes, fewest yarns first."""
    amounts = [held_in(name) for name in PUT_UPS] if with_amounts else []
    rows = (
        yarns.filter(is_spare=False)
        .order_by("registration_id", "position")
        .values_list(
            *("registration_id", "lab_l", "lab_a", "lab_b", "spread", "dye_style"), *amounts
        )
    )
    keys, colours = _as_arrays(rows.iterator(AT_ONCE))
    registrations, starts, sizes = np.unique(keys, return_index=True, return_counts=True)
    parts = []
    for size in np.unique(sizes).tolist():
        ours = sizes == size
        taken = colours[starts[ours][:, np.newaxis] + np.arange(size)]
        held = taken[..., 4:] if with_amounts else None
        parts.append(CrowdRows(registrations[ours], taken[..., :3], taken[..., 3], held))
    return parts


def held_in(put_up: str) -> Combinable:
    """Return what there is of a yarn in balls of this put-up, as the database multiplies it.

    A float, since a hundred thousand decimals take longer to make than all the rest.
    """
    return Cast("balls", FloatField()) * Cast(put_up, FloatField())


def _as_arrays(rows: Rows) -> tuple[NDArray[np.int64], Floats]:
    """Return registrations (rows,) and L*, a*, b*, texture, and amounts if any: (rows, 4 or 6)."""
    keys, colours = [np.empty(0, dtype=np.int64)], []
    for batch in batched(rows, AT_ONCE):
        key, lightness, a, b, spreads, styles, *amounts = zip(*batch, strict=True)
        keys.append(np.array(key, dtype=np.int64))
        typical = np.array([TYPICAL_SPREAD.get(style, 0.0) for style in styles])
        measured = np.array(spreads)
        texture = np.where(measured != 0, measured, typical)
        known = [np.array(column, dtype=np.float64) for column in (lightness, a, b, *amounts)]
        colours.append(np.stack([*known[:3], texture, *known[3:]], axis=1))
    return np.concatenate(keys), np.concatenate(colours) if colours else np.empty((0, 6))
