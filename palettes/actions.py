"""Verbs that change a palette. Each refuses with a PaletteError and then changes nothing.

Every change of one palette takes that palette's row lock first, so that two requests at once
cannot both find room for a last yarn, or both register.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime
from statistics import fmean
from typing import Final, Literal

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kal.models import Participant
from palettes.audits import fabric_of
from palettes.colour.facets import read_facets, starts_of
from palettes.colour.pair_matrix import left_of
from palettes.errors import (
    PaletteClosed,
    PaletteFull,
    PaletteIncomplete,
    TooManyCandidates,
    TooManyPhotos,
)
from palettes.models import (
    AnyPhoto,
    GalleryEntry,
    Palette,
    Photo,
    RegisteredYarn,
    Registration,
    Yarn,
)
from palettes.models.registration import run_of
from palettes.models.yarn_facts import FACT_NAMES
from palettes.photos import Picture

# Common practice: a stash laid out for one shawl; also the most the shortlist can search.
MAX_YARNS: Final = 40
# Our choice: two photos of each of twenty yarns, at about 0.5 MB each.
MAX_PHOTOS: Final = 40

type Direction = Literal["up", "down"]


@transaction.atomic
def add_yarn(yarn: Yarn, participant: Participant, *, now: datetime) -> Yarn:
    """Store a new yarn: among the chosen while a colour is free, else as a candidate."""
    palette, _created = Palette.objects.get_or_create(participant=participant)
    lock(palette, now=now)
    if palette.yarns.count() >= MAX_YARNS:
        raise TooManyCandidates(
            _(
                "A palette holds {max_yarns} yarns at most; remove one that you will not use first."
            ).format(max_yarns=MAX_YARNS)
        )
    yarn.palette = palette
    yarn.place = Yarn.Place.CHOSEN if _has_room(palette) else Yarn.Place.CANDIDATE
    yarn.position = _end_of(palette, yarn.place)
    yarn.save()
    return yarn


@transaction.atomic
def change_yarn(yarn: Yarn, fields: Iterable[str], *, now: datetime) -> None:
    """Store the named fields of a yarn and leave its others as they are."""
    lock(yarn.palette, now=now)
    yarn.save(update_fields=[*fields, "updated_at"])


@transaction.atomic
def place_yarn(yarn: Yarn, place: str, *, now: datetime) -> None:
    """Move a yarn among the chosen, the spares or the candidates, after those already there."""
    palette = lock(yarn.palette, now=now)
    yarn.refresh_from_db(fields=["place", "position"])
    if yarn.place == place:
        return
    if place == Yarn.Place.CHOSEN and not _has_room(palette):
        count = palette.participant.knit_along.colour_count
        raise PaletteFull(
            _(
                "You have already chosen {count} yarns, one for each colour; put one of "
                "them aside first, then choose {name}."
            ).format(count=count, name=yarn.name)
        )
    yarn.place, yarn.position = place, _end_of(palette, place)
    yarn.save(update_fields=["place", "position", "updated_at"])


@transaction.atomic
def move_yarn(yarn: Yarn, direction: Direction, *, now: datetime) -> None:
    """Swap a yarn with its neighbour in the same place; at the end of the row it stays."""
    palette = lock(yarn.palette, now=now)
    yarn.refresh_from_db(fields=["place", "position"])
    row = list(palette.yarns.filter(place=yarn.place))
    here = next(i for i, other in enumerate(row) if other.pk == yarn.pk)
    there = here + (-1 if direction == "up" else 1)
    if 0 <= there < len(row):
        row[here], row[there] = row[there], row[here]
        _renumber(row)


@transaction.atomic
def remove_yarn(yarn: Yarn, *, now: datetime) -> None:
    """Remove a yarn from the draft; registrations keep their own copy of it."""
    lock(yarn.palette, now=now)
    yarn.delete()


@transaction.atomic
def register_palette(palette: Palette, *, now: datetime) -> tuple[Registration, bool]:
    """Register the palette as it is now, and return the registration and whether it is new.

    Registering what is registered already returns the one there is. Raises PaletteIncomplete.
    """
    lock(palette, now=now)
    chosen, spares = list(palette.yarns.chosen()), list(palette.yarns.spare())
    if missing := what_is_missing(palette.participant.knit_along.colour_count, len(chosen)):
        raise PaletteIncomplete(missing)
    current = palette.registration
    if current and current.is_copy_of(chosen, spares):
        return current, False
    return _write_registration(palette, current, chosen, spares, now=now), True


def what_is_missing(colour_count: int, chosen_count: int) -> str:
    """Return one sentence on what a palette lacks to be registered, or ''."""
    lacking = colour_count - chosen_count
    if lacking > 0:
        return ngettext(
            "Choose {lacking} more yarn to register: the pattern takes {colour_count}.",
            "Choose {lacking} more yarns to register: the pattern takes {colour_count}.",
            lacking,
        ).format(lacking=lacking, colour_count=colour_count)
    if lacking < 0:
        return _(
            "The pattern takes {colour_count} yarns and {chosen_count} are chosen; "
            "make the others spares to register."
        ).format(colour_count=colour_count, chosen_count=chosen_count)
    return ""


@transaction.atomic
def add_photo(participant: Participant, picture: Picture, *, now: datetime) -> Photo:
    """Store the pixels of an upload as a photo of the participant's own."""
    palette, _created = Palette.objects.get_or_create(participant=participant)
    lock(palette, now=now)
    if participant.photos.count() >= MAX_PHOTOS:
        raise TooManyPhotos(
            _(
                "You keep {max_photos} photos, as many as there is room for; remove one first."
            ).format(max_photos=MAX_PHOTOS)
        )
    photo = Photo(participant=participant, width=picture.width, height=picture.height)
    store_photo(photo, picture)
    return photo


def store_photo(photo: AnyPhoto, picture: Picture) -> None:
    """Store the pixels and the row; a row that cannot be stored leaves no file."""
    photo.image.save("", picture.file(), save=False)
    try:
        photo.save()
    except BaseException:
        photo.image.delete(save=False)
        raise


@transaction.atomic
def remove_photo(photo: AnyPhoto) -> None:
    """Remove a photo and its file; yarns picked from it keep their colours."""
    photo.delete()
    transaction.on_commit(lambda: photo.image.delete(save=False))


def lock(palette: Palette, *, now: datetime) -> Palette:
    """Take the palette's row until the transaction ends; PaletteClosed if it may not change."""
    Palette.objects.select_for_update().get(pk=palette.pk)
    if not palette.participant.knit_along.are_palettes_open(now):
        raise PaletteClosed(
            _("The organiser has closed the palettes, so yours can be read but not changed.")
        )
    return palette


def _has_room(palette: Palette) -> bool:
    return palette.yarns.chosen().count() < palette.participant.knit_along.colour_count


def _end_of(palette: Palette, place: str) -> int:
    last = palette.yarns.filter(place=place).last()
    return last.position + 1 if last else 0


def _renumber(row: Sequence[Yarn]) -> None:
    for position, yarn in enumerate(row):
        yarn.position = position
    Yarn.objects.bulk_update(row, ["position"])


def _write_registration(
    palette: Palette,
    current: Registration | None,
    chosen: Sequence[Yarn],
    spares: Sequence[Yarn],
    *,
    now: datetime,
) -> Registration:
    GalleryEntry.objects.filter(registration__palette=palette).delete()
    palette.registrations.filter(is_current=True).update(is_current=False)
    registration = Registration.objects.create(
        palette=palette,
        knit_along=palette.participant.knit_along,
        number=current.number + 1 if current else 1,
        mean_lightness=fmean(yarn.lab_l for yarn in chosen),
        registered_at=now,
        kit=palette.kit_still_in(chosen),
    )
    yarns = [
        copy_yarn(yarn, registration, position, is_spare=position >= len(chosen))
        for position, yarn in enumerate([*chosen, *spares])
    ]
    RegisteredYarn.objects.bulk_create(yarns)
    gallery_entry(registration, palette.participant, yarns[: len(chosen)]).save()
    return registration


def copy_yarn(
    yarn: Yarn, registration: Registration, position: int, *, is_spare: bool
) -> RegisteredYarn:
    """Return an unstored copy of a yarn as it is registered, with its families named."""
    family, second = [*yarn.family_names, ""][:2]
    return RegisteredYarn(
        registration=registration,
        position=position,
        is_spare=is_spare,
        family=family,
        second_family=second,
        shade_word=yarn.shade,
        screen_hex=yarn.hex,
        **dict(zip(FACT_NAMES, yarn.facts(), strict=True)),
    )


def gallery_entry(
    registration: Registration, participant: Participant, chosen: Sequence[RegisteredYarn]
) -> GalleryEntry:
    """Return the unstored entry by which the gallery finds a registration of these yarns."""
    swatches = [yarn.swatch() for yarn in chosen]
    facets = read_facets(
        swatches,
        [yarn.family_names for yarn in chosen],
        left_of(swatches, fabric_of(registration.knit_along)),
    )
    return GalleryEntry(
        registration=registration,
        knit_along=registration.knit_along,
        participant=participant,
        run=run_of(registration.mean_lightness),
        kit_id=registration.kit_id,
        starts=starts_of(facets.words),
        **facets._asdict(),
    )
