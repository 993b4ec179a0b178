"""Verbs that change what is marked in a photo, and put it on the yarns.

As in actions.py: each takes the palette's row lock first, and refuses with a PaletteError and
then changes nothing. Pixels are looked at before, so that the lock is not held for as long.
"""

import itertools
from collections.abc import Collection, Iterable, Sequence
from datetime import datetime
from typing import Any, Final

from django.db import transaction
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from kal.models import Participant
from palettes.actions import MAX_YARNS, add_photo, add_yarn, change_yarn, lock
from palettes.colour.light import Box
from palettes.colour.measure import Measurement
from palettes.colour.reading import find_yarns
from palettes.colour.regions import propose_white
from palettes.errors import MarksUnfit, TooManyMarks
from palettes.kit_actions import add_kit_photo, lock_draft, save_yarn
from palettes.measuring import PhotoReading, measured, pixels_of, read_stored, white_of
from palettes.models import (
    AnyMark,
    AnyPhoto,
    Kit,
    KitMark,
    KitPhoto,
    KitYarn,
    Mark,
    Palette,
    Photo,
    Yarn,
)
from palettes.models.named_yarn import NamedYarn
from palettes.models.yarn_facts import MeasuredBy
from palettes.photos import Picture

# As many as a palette holds, so that one photo may show all of them.
MAX_MARKS: Final = MAX_YARNS
NAMED_FIELDS: Final = ("yarn", "is_new", "new_name", "dye_style")
PLACED_FIELDS: Final = ("box", *NAMED_FIELDS)
MEASURED_FIELDS: Final = (
    *("lab_l", "lab_a", "lab_b", "spread", "measured_by", "dye_style"),
    *("photo", "region"),
)


def add_marked_photo(participant: Participant, picture: Picture, *, now: datetime) -> Photo:
    """Store an upload with a box proposed for each yarn it seems to show."""
    boxes = find_yarns(read_stored(picture.webp), count=participant.knit_along.colour_count)
    with transaction.atomic():
        photo = add_photo(participant, picture, now=now)
        is_new = shows_new_yarns(photo)
        Mark.objects.bulk_create(Mark(photo=photo, box=box, is_new=is_new) for box in boxes)
    return photo


def add_marked_kit_photo(kit: Kit, picture: Picture) -> KitPhoto:
    """Store an upload of a kit's maker with a box proposed for each yarn it seems to show."""
    boxes = find_yarns(read_stored(picture.webp), count=kit.maker.knit_along.colour_count)
    with transaction.atomic():
        photo = add_kit_photo(kit, picture)
        is_new = shows_new_yarns(photo)
        KitMark.objects.bulk_create(KitMark(photo=photo, box=box, is_new=is_new) for box in boxes)
    return photo


def shows_new_yarns(photo: AnyPhoto) -> bool:
    """Return whether a box of this photo is most likely a yarn that is not entered yet.

    So it is unless there is a yarn whose colour was never measured: the photo may be of that one.
    """
    yarns: QuerySet[Yarn] | QuerySet[KitYarn] = (
        photo.kit.yarns.all()
        if isinstance(photo, KitPhoto)
        else Yarn.objects.filter(palette__participant=photo.participant)
    )
    return not yarns.exclude(measured_by=MeasuredBy.PHOTO).exists()


@transaction.atomic
def keep_marks(
    photo: AnyPhoto, marks: Iterable[AnyMark], *, is_light_trusted: bool, now: datetime
) -> None:
    """Store the marks as the owner has placed and named them."""
    _lock(photo, now=now)
    for mark in marks:
        # An update, so that one removed meanwhile from another page stays so.
        placed = {name: getattr(mark, name) for name in PLACED_FIELDS}
        photo.marks.filter(pk=mark.pk).update(**placed)
    if photo.is_light_trusted != is_light_trusted:
        photo.is_light_trusted = is_light_trusted
        photo.save(update_fields=["is_light_trusted"])


def mark_white(photo: AnyPhoto, kind: str, *, now: datetime) -> None:
    """Mark white paper or a grey card, where one seems to lie, or ('') that there is none."""
    box = propose_white(pixels_of(photo)) if kind else None
    with transaction.atomic():
        _lock(photo, now=now)
        if box is None:
            photo.marks.of_white().delete()
        elif not photo.marks.of_white().update(kind=kind):
            photo.marks.create(kind=kind, box=box)
            yarns = photo.marks.of_yarn().filter(yarn=None)
            mistaken = [mark.pk for mark in yarns if box.holds_middle_of(mark.box)]
            photo.marks.filter(pk__in=mistaken).delete()


@transaction.atomic
def add_mark(photo: AnyPhoto, box: Box, *, now: datetime) -> AnyMark:
    """Mark one more yarn; TooManyMarks when there is no room."""
    _lock(photo, now=now)
    if photo.marks.of_yarn().count() >= MAX_MARKS:
        raise TooManyMarks(
            _("A photo holds %(most)d boxes at most; remove one first.") % {"most": MAX_MARKS}
        )
    return photo.marks.create(box=box, is_new=shows_new_yarns(photo))


@transaction.atomic
def remove_mark(mark: AnyMark, *, now: datetime) -> None:
    """Remove one box; a yarn measured by it keeps its colour."""
    _lock(mark.photo, now=now)
    mark.delete()


def find_again(photo: AnyPhoto, count: int, *, now: datetime) -> int:
    """Replace the yarns' boxes by up to `count` proposed anew, and return how many there are.

    A new box takes over whose yarn it is from an old one that it covers.
    """
    boxes = find_yarns(pixels_of(photo), count=count, white=white_of(photo.marks.of_white()))
    with transaction.atomic():
        _lock(photo, now=now)
        old = list[AnyMark](photo.marks.of_yarn())
        photo.marks.of_yarn().delete()
        fresh = {"is_new": shows_new_yarns(photo)}
        for box in boxes:
            photo.marks.create(box=box, **(_inherited(box, old) or fresh))
    return len(boxes)


@transaction.atomic
def apply_marks(photo: AnyPhoto, reading: PhotoReading, *, now: datetime) -> list[Yarn | KitYarn]:
    """Put what was measured on the yarns it is for, and return those; MarksUnfit says why not.

    New yarns are entered, and their boxes are theirs from then on, so that doing it twice does
    not enter them twice.
    """
    _lock(photo, now=now)
    return [
        _apply_to_kit(mark, measurement)
        if isinstance(mark, KitMark)
        else _apply(mark, measurement, now=now)
        for mark, measurement in _ready(photo, reading)
    ]


def _ready(photo: AnyPhoto, reading: PhotoReading) -> Sequence[tuple[AnyMark, Measurement]]:
    if reading.light_problem:
        raise MarksUnfit(reading.light_problem)
    marks = [mark for mark in photo.marks.of_yarn().select_related("yarn") if mark.has_target]
    if not marks:
        raise MarksUnfit(
            _("Say of one box at least which of your yarns it shows, or that it is a new one.")
        )
    taken = [mark.yarn for mark in marks if mark.yarn]
    if twice := next((yarn for yarn in taken if taken.count(yarn) > 1), None):
        raise MarksUnfit(
            _("Two boxes are for %(yarn)s; give one of them another yarn, or leave it out.")
            % {"yarn": twice.name}
        )
    if problems := [found.problem for mark in marks if (found := reading.marks[mark.pk]).problem]:
        raise MarksUnfit(" ".join(problems))
    return [
        (mark, measurement)
        for mark in marks
        if (measurement := reading.marks[mark.pk].measurement) is not None
    ]


def _apply(mark: Mark, measurement: Measurement, *, now: datetime) -> Yarn:
    beside = Yarn.objects.filter(palette__participant=mark.photo.participant)
    yarn = _measured(mark.yarn or Yarn(name=mark.new_name), mark, measurement, beside)
    yarn.photo, yarn.region = mark.photo, mark.box
    if yarn.pk:
        change_yarn(yarn, MEASURED_FIELDS, now=now)
        return yarn
    mark.yarn = add_yarn(yarn, mark.photo.participant, now=now)
    _entered(mark)
    return yarn


def _apply_to_kit(mark: KitMark, measurement: Measurement) -> KitYarn:
    new = KitYarn(kit=mark.photo.kit, name=mark.new_name, balls=1)
    yarn = _measured(mark.yarn or new, mark, measurement, mark.photo.kit.yarns.all())
    is_new = yarn.pk is None
    save_yarn(yarn)
    if is_new:
        mark.yarn = yarn
        _entered(mark)
    return yarn


def _measured[Y: (Yarn, KitYarn)](
    yarn: Y, mark: AnyMark, measurement: Measurement, beside: QuerySet[Y]
) -> Y:
    """Return the yarn as measured; `beside` are those it must be told apart from by name."""
    yarn = measured(yarn, measurement)
    yarn.dye_style = mark.dye_style or measurement.dye_style
    yarn.name = yarn.name or name_by_colour(yarn, list(beside.values_list("name", flat=True)))
    return yarn


def _entered(mark: AnyMark) -> None:
    """A box's new yarn is there, so that the box is that yarn's from now on."""
    mark.is_new, mark.new_name = False, ""
    mark.save(update_fields=["yarn", "is_new", "new_name"])


def name_by_colour(yarn: NamedYarn, taken: Collection[str]) -> str:
    """Return a new yarn's first name, its colour, like 'Dark blue'; its owner may say better.

    Where that is taken, it is numbered: 'Dark blue 2'.
    """
    words = yarn.colour_words
    name = words[:1].upper() + words[1:]
    numbered = (f"{name} {number}" for number in itertools.count(2))
    return next(free for free in itertools.chain([name], numbered) if free not in taken)


def _inherited(box: Box, old: Iterable[AnyMark]) -> dict[str, Any]:
    for mark in old:
        if box.holds_middle_of(mark.box) or mark.box.holds_middle_of(box):
            return {name: getattr(mark, name) for name in NAMED_FIELDS}
    return {}


def _lock(photo: AnyPhoto, *, now: datetime) -> None:
    if isinstance(photo, KitPhoto):
        lock_draft(photo.kit)
    else:
        palette, _made = Palette.objects.get_or_create(participant=photo.participant)
        lock(palette, now=now)
