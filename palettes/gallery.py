"""A page of the gallery: found by an opaque cursor, so that it costs the same wherever it is.

A cursor names the registration a page starts after, not how many pages lie before it, so a
palette registered meanwhile moves nothing from one page to the next.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from django.core import signing
from django.db.models import Prefetch
from django.utils.translation import gettext as _

from kal.models import KnitAlong
from palettes.errors import PaletteError
from palettes.models import GalleryEntry, RegisteredYarn
from palettes.models.gallery import GalleryEntryQuerySet
from palettes.wanted import Wanted

# Our choice: eight rows of three on a wide screen.
PAGE_SIZE: Final = 24
# Our choice: beyond it nobody needs to know how many, and counting them all would take the time.
COUNTED: Final = 1000
ANYTHING: Final = Wanted()

type Side = Literal["older", "newer"]


class BadCursor(PaletteError):
    """The address of the page was not one this gallery gave out."""


@dataclass(frozen=True, slots=True)
class Page:
    """Some palettes, newest first, and the cursors of the pages either side; '' for none."""

    entries: Sequence[GalleryEntry]
    newer: str
    older: str


def read_page(knit_along: KnitAlong, wanted: Wanted = ANYTHING, *, cursor: str = "") -> Page:
    """Return the page at a cursor, or the first one; BadCursor when it is not a true one."""
    entries = for_a_list(wanted.among(GalleryEntry.objects.shown_in(knit_along)))
    side, start = _open(cursor, knit_along) if cursor else ("older", None)
    if side == "newer":
        return _page_before(entries, start, knit_along)
    return _page_after(entries, start, knit_along)


def count_found(knit_along: KnitAlong, wanted: Wanted = ANYTHING) -> int:
    """Return how many palettes are like this, counting no further than one past `COUNTED`."""
    return wanted.among(GalleryEntry.objects.shown_in(knit_along))[: COUNTED + 1].count()


def for_a_list(entries: GalleryEntryQuerySet) -> GalleryEntryQuerySet:
    """Return the entries with what a list shows of each."""
    # All but the entries is fetched by key afterwards: joined, a database may start from the wrong
    # end, and PostgreSQL walks every row to merge in order.
    return entries.defer("words").prefetch_related(
        "participant__user",
        "registration",
        Prefetch("registration__yarns", RegisteredYarn.objects.for_a_strip()),
    )


def _page_after(entries: GalleryEntryQuerySet, start: int | None, knit_along: KnitAlong) -> Page:
    rest = entries if start is None else entries.filter(registration_id__lt=start)
    found = list(rest.order_by("-registration_id")[: PAGE_SIZE + 1])
    shown = found[:PAGE_SIZE]
    return Page(
        shown,
        newer=_seal("newer", shown[0].registration_id, knit_along) if shown and start else "",
        older=_seal("older", shown[-1].registration_id, knit_along) if found[PAGE_SIZE:] else "",
    )


def _page_before(entries: GalleryEntryQuerySet, start: int | None, knit_along: KnitAlong) -> Page:
    rest = entries.filter(registration_id__gt=start)
    found = list(rest.order_by("registration_id")[: PAGE_SIZE + 1])
    if len(found) <= PAGE_SIZE:
        # Nothing newer is left, so this is the first page and starts where that one does.
        return _page_after(entries, None, knit_along)
    shown = found[:PAGE_SIZE][::-1]
    return Page(
        shown,
        newer=_seal("newer", shown[0].registration_id, knit_along),
        older=_seal("older", shown[-1].registration_id, knit_along),
    )


def _signer(knit_along: KnitAlong) -> signing.Signer:
    return signing.Signer(salt=f"palettes.gallery.{knit_along.pk}")


def _seal(side: Side, start: int, knit_along: KnitAlong) -> str:
    return _signer(knit_along).sign_object([side, start])


def _open(cursor: str, knit_along: KnitAlong) -> tuple[Side, int]:
    try:
        side, start = _signer(knit_along).unsign_object(cursor)
    except (signing.BadSignature, ValueError):
        raise BadCursor(
            _("That page of the gallery could not be found, so this is its first page.")
        ) from None
    return side, start
