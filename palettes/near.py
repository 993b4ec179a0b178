"""The palettes of the gallery that are closest to one of them.

Every web process keeps the colours of the palettes of the knit-alongs asked about last: at most
`KEPT` of them, about 43 bytes a yarn, or 22 MB for 100,000 palettes of five. What is kept is
compared with the gallery at each question, and only what has come or gone since is read. Consent
is not kept but asked each time, so whoever leaves or hides their palette is gone at once.
"""

from collections import OrderedDict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from threading import Lock
from typing import Final

import numpy as np
from django.db.models import Count, Max
from numpy.typing import NDArray

from kal.models import KnitAlong
from palettes.colour.nearness import Crowd, Near, nearest, sort_crowd
from palettes.colour.spaces import Floats
from palettes.crowd_rows import CrowdRows, read_rows
from palettes.gallery import for_a_list
from palettes.models import GalleryEntry, RegisteredYarn
from palettes.models.yarn_facts import YarnFacts

# Our choice: a site has one knit-along running and one in preparation.
KEPT: Final = 2
# How many are shown; and how many more are looked for at once, as some keep theirs to themselves.
SHOWN: Final = 20
AT_FIRST: Final = 40
# Keys in one question to the database, under the limit of either.
KEYS: Final = 10_000


@dataclass(frozen=True, slots=True)
class NearEntry:
    """A palette of the gallery near another, its yarns in the order of their partners."""

    entry: GalleryEntry
    distance: float
    yarns: Sequence[RegisteredYarn]


@dataclass(frozen=True, slots=True, eq=False)
class _Kept:
    stamp: tuple[int, int | None]
    rows: tuple[CrowdRows, ...]
    crowds: tuple[Crowd, ...]


_kept: OrderedDict[int, _Kept] = OrderedDict()
_lock = Lock()


def nearest_entries(
    yarns: Sequence[YarnFacts], knit_along: KnitAlong, *, but: int | None = None
) -> list[NearEntry]:
    """Return the entries shown that are closest to these yarns, closest first.

    They have as many yarns. `but` is a participant whose own palette is left out.
    """
    asked = np.array([yarn.lab for yarn in yarns])
    for keys, crowd in _crowds(knit_along):
        if len(yarns) == crowd.labs.shape[1]:
            return list(_shown(asked, keys, crowd, knit_along, but))
    return []


def _shown(
    asked: Floats, keys: NDArray[np.int64], crowd: Crowd, knit_along: KnitAlong, but: int | None
) -> Iterator[NearEntry]:
    entries = GalleryEntry.objects.shown_in(knit_along).exclude(participant=but)
    looked_for, found = AT_FIRST, 0
    seen = 0
    while found < SHOWN and seen < len(crowd):
        ranked = nearest(asked, crowd, min(looked_for, len(crowd)))
        fresh = ranked[seen:]
        by_key = {
            entry.registration_id: entry
            for entry in for_a_list(
                entries.filter(registration__in=[int(keys[near.place]) for near in fresh])
            )
        }
        for near in fresh:
            if (entry := by_key.get(int(keys[near.place]))) and found < SHOWN:
                found += 1
                yield NearEntry(entry, near.distance, _in_order(entry, near))
        seen, looked_for = len(ranked), looked_for * 8


def _in_order(entry: GalleryEntry, near: Near) -> list[RegisteredYarn]:
    chosen = entry.registration.chosen
    return [chosen[place] for place in near.partners]


def _crowds(knit_along: KnitAlong) -> list[tuple[NDArray[np.int64], Crowd]]:
    """Return the palettes of the gallery, those of one number of yarns together."""
    entries = GalleryEntry.objects.filter(knit_along=knit_along)
    found = entries.aggregate(count=Count("pk"), newest=Max("registration"))
    stamp = found["count"], found["newest"]
    with _lock:
        kept = _kept.pop(knit_along.pk, None)
        if kept is None or kept.stamp != stamp:
            kept = _read(knit_along, kept, stamp)
        _kept[knit_along.pk] = kept
        while len(_kept) > KEPT:
            _kept.popitem(last=False)
    return [(rows.registrations, crowd) for rows, crowd in zip(kept.rows, kept.crowds, strict=True)]


def _read(knit_along: KnitAlong, kept: _Kept | None, stamp: tuple[int, int | None]) -> _Kept:
    keys = GalleryEntry.objects.filter(knit_along=knit_along).values_list("registration", flat=True)
    now = np.sort(np.fromiter(keys.iterator(), dtype=np.int64))
    old = kept.rows if kept else ()
    known = np.concatenate([rows.registrations for rows in old]) if old else now[:0]
    fresh = np.setdiff1d(now, known)
    still = [_only(rows, np.isin(rows.registrations, now)) for rows in old]
    rows = _together([*still, *_read_rows(knit_along, fresh, whole=not old)])
    return _Kept(stamp, rows, tuple(sort_crowd(one.labs) for one in rows))


def _read_rows(
    knit_along: KnitAlong, keys: NDArray[np.int64], *, whole: bool
) -> Iterator[CrowdRows]:
    yarns = RegisteredYarn.objects.filter(
        registration__knit_along=knit_along, registration__is_current=True
    )
    if whole:
        yield from read_rows(yarns)
        return
    for start in range(0, len(keys), KEYS):
        some = keys[start : start + KEYS].tolist()
        yield from read_rows(yarns.filter(registration__in=some))


def _only(rows: CrowdRows, wanted: NDArray[np.bool_]) -> CrowdRows:
    return CrowdRows(rows.registrations[wanted], rows.labs[wanted], rows.textures[wanted])


def _together(parts: Sequence[CrowdRows]) -> tuple[CrowdRows, ...]:
    """Return the parts joined by their number of yarns, each by rising registration."""
    joined = []
    for size in sorted({part.yarns for part in parts if len(part)}):
        same = [part for part in parts if part.yarns == size]
        keys = np.concatenate([part.registrations for part in same])
        order = np.argsort(keys)
        labs = np.concatenate([part.labs for part in same])[order]
        textures = np.concatenate([part.textures for part in same])[order]
        joined.append(CrowdRows(keys[order], labs, textures))
    return tuple(joined)
