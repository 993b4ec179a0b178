"""Everybody's colours in one picture and one table, of those who show their palettes.

Both are kept in the site's cache under what they were made from, so a palette that comes, goes or
is hidden makes new ones.
"""

import hashlib
from dataclasses import dataclass
from typing import Final

import numpy as np
from django.core.cache import cache
from django.db.models import Count, QuerySet

from kal.models import KnitAlong
from palettes.colour.cohort import MOST, WIDTH, draw_cohort, order_cohort
from palettes.colour.families import FAMILIES
from palettes.crowd_rows import read_rows
from palettes.models import GalleryEntry, RegisteredYarn
from palettes.photos import encode_png

PAPER: Final = (0xFB, 0xFA, 0xF7)  # static/css/site.css
# Raised whenever it is drawn or counted differently.
DRAWING: Final = 1
A_DAY: Final = 24 * 60 * 60


@dataclass(frozen=True, slots=True)
class FamilyCount:
    """How many palettes have a yarn of a family, and how many such yarns there are."""

    family: str
    palettes: int
    yarns: int


@dataclass(frozen=True, slots=True)
class Cohort:
    """The cohort as a PNG file and as numbers; no palettes, no picture."""

    version: str
    picture: bytes
    width: int
    height: int
    palettes: int
    drawn: int
    families: tuple[FamilyCount, ...]


def see_cohort(knit_along: KnitAlong) -> Cohort:
    """Return the cohort as it is shown now."""
    version = _version(knit_along)
    key = f"cohort.{version}"
    kept = cache.get(key)
    if isinstance(kept, Cohort):
        return kept
    cohort = _make(knit_along, version)
    cache.set(key, cohort, A_DAY)
    return cohort


def _version(knit_along: KnitAlong) -> str:
    """Return a short name for exactly the palettes that are shown."""
    shown = GalleryEntry.objects.shown_in(knit_along).order_by("registration_id")
    keys = np.fromiter(shown.values_list("registration_id", flat=True).iterator(), dtype=np.int64)
    name = f"{DRAWING} {knit_along.pk} ".encode() + keys.tobytes()
    return hashlib.sha256(name).hexdigest()[:24]


def _make(knit_along: KnitAlong, version: str) -> Cohort:
    shown = GalleryEntry.objects.shown_in(knit_along)
    yarns = RegisteredYarn.objects.filter(registration__gallery_entry__in=shown, is_spare=False)
    # The most usual number of yarns: a column of another would have no place in the picture.
    rows = max(read_rows(yarns), key=len, default=None)
    count = len(rows) if rows else 0
    levels = draw_cohort(order_cohort(rows.labs), PAPER) if rows else None
    return Cohort(
        version=version,
        picture=b"" if levels is None else encode_png(levels),
        width=WIDTH,
        height=0 if levels is None else len(levels),
        palettes=count,
        drawn=min(count, MOST),
        families=_count_families(yarns),
    )


def _count_families(yarns: QuerySet[RegisteredYarn]) -> tuple[FamilyCount, ...]:
    counted = {
        row["family"]: row
        for row in yarns.values("family").annotate(
            palettes=Count("registration", distinct=True), yarns=Count("pk")
        )
    }
    return tuple(
        FamilyCount(family.value, row["palettes"], row["yarns"])
        for family in FAMILIES
        if (row := counted.get(family.value))
    )
