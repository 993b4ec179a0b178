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
# More than a page holds, as the first page is cut from what is counted.
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
    found: int
    """How many there are on all pages, counted no further than one past `COUNTED`."""


def read_page(knit_along: KnitAlong, wanted: Wanted = ANYTHING, *, cursor: str = "") -> Page:
    """Return the page at a cursor, or the first one; BadCursor when it is not a true one."""
    side: Side = "older"
    start = None
    if cursor:
        side, start = _open(cursor, knit_along)
    shown = GalleryEntry.objects.shown_in(knit_along)
    entries = wanted.among(shown)
    # One walk counts them and finds the page too, unless it lies beyond what is counted.
    newest = entries.walk("-registration_id", COUNTED + 1)
    keys, is_newer, is_older = _cut(entries, newest, side, start)
    return Page(
        list(for_a_list(shown.filter(registration__in=keys))),
        newer=_seal("newer", keys[0], knit_along) if is_newer else "",
        older=_seal("older", keys[-1], knit_along) if is_older else "",
        found=len(newest),
    )


def for_a_list(entries: GalleryEntryQuerySet) -> GalleryEntryQuerySet:
    """Return the entries with what a list shows of each."""
    # All but the entries is fetched by key afterwards: joined, a database may start from the wrong
    # end, and PostgreSQL walks every row to merge in order.
    return entries.defer("words").prefetch_related(
        "participant__user",
        "registration",
        Prefetch("registration__yarns", RegisteredYarn.objects.for_a_strip()),
    )


def _cut(
    entries: GalleryEntryQuerySet, newest: list[int], side: Side, start: int | None
) -> tuple[list[int], bool, bool]:
    """Return the registrations on a page, newest first, and whether any are newer and older."""
    if side == "newer" and start is not None:
        rest = _newer(entries, newest, start)
        if len(rest) > PAGE_SIZE:
            return rest[:PAGE_SIZE][::-1], True, True
        # Nothing newer is left, so this is the first page and starts where that one does.
        start = None
    rest = _older(entries, newest, start)
    return rest[:PAGE_SIZE], bool(rest) and start is not None, len(rest) > PAGE_SIZE


def _older(entries: GalleryEntryQuerySet, newest: list[int], start: int | None) -> list[int]:
    """Return a page of registrations and one more, newest first, of the newest or beyond them."""
    rest = [key for key in newest if start is None or key < start][: PAGE_SIZE + 1]
    if start is None or len(rest) > PAGE_SIZE or len(newest) <= COUNTED:
        return rest
    return entries.filter(registration_id__lt=start).walk("-registration_id", PAGE_SIZE + 1)


def _newer(entries: GalleryEntryQuerySet, newest: list[int], start: int) -> list[int]:
    """Return the same of those newer, oldest first."""
    if len(newest) <= COUNTED or start >= newest[-1]:
        return [key for key in reversed(newest) if key > start][: PAGE_SIZE + 1]
    return entries.filter(registration_id__gt=start).walk("registration_id", PAGE_SIZE + 1)


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
