"""A photo as its page shows it: the marks with their forms, and what each measures."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from django.db.models import QuerySet

from palettes.colour.light import Box
from palettes.mark_forms import BoxForm, CountForm, LightForm, YarnMarkForm
from palettes.measuring import MarkReading, PhotoReading, read_marks
from palettes.models import AnyMark, AnyPhoto, KitYarn, Mark, Yarn

# Our choice: a new box is a tenth of the photo's long side, about a ball of yarn among five.
NEW_SIDE: Final = 0.1


@dataclass(frozen=True, slots=True)
class Row:
    """One mark with its form, and what it measures where it is a yarn."""

    number: int
    mark: AnyMark
    form: BoxForm
    view_box: str
    """The part of the photo the box covers, in pixels, as an SVG viewBox."""
    reading: MarkReading | None = None

    @property
    def x(self) -> str:
        return _per_cent(self.mark.box.left)

    @property
    def y(self) -> str:
        return _per_cent(self.mark.box.top)

    @property
    def right(self) -> str:
        return _per_cent(self.mark.box.right)

    @property
    def bottom(self) -> str:
        return _per_cent(self.mark.box.bottom)

    @property
    def corners(self) -> Sequence[tuple[str, str, str]]:
        """Each corner's name by the compass, and where it is."""
        return [
            ("nw", self.x, self.y),
            ("ne", self.right, self.y),
            ("sw", self.x, self.bottom),
            ("se", self.right, self.bottom),
        ]

    @property
    def width(self) -> str:
        return _per_cent(self.mark.box.right - self.mark.box.left)

    @property
    def height(self) -> str:
        return _per_cent(self.mark.box.bottom - self.mark.box.top)


@dataclass(frozen=True, slots=True)
class Board:
    """Everything on a photo's page."""

    photo: AnyPhoto
    light: LightForm
    white: Row | None
    yarns: Sequence[Row]
    count: CountForm
    reading: PhotoReading
    errors: Sequence[str] = field(default_factory=list)

    @property
    def rows(self) -> Sequence[Row]:
        return [*([self.white] if self.white else []), *self.yarns]

    @property
    def version(self) -> str:
        """What the views in daylight and in grey depend on, so that none is shown out of date."""
        if not self.white:
            return "0"
        row = self.white
        return "-".join((row.mark.kind, row.x, row.y, row.right, row.bottom)).replace("%", "")

    @property
    def is_balanced(self) -> bool:
        """Whether a reference was marked and used."""
        return bool(self.white and not self.reading.light_problem)


class MarkForms:
    """The forms of all that is marked in a photo, which one page sends together.

    A mark that was not sent is left as it is, so that an older page takes nothing back.
    """

    def __init__(
        self, photo: AnyPhoto, yarns: QuerySet[Yarn] | QuerySet[KitYarn], data: Any = None
    ) -> None:
        self.photo = photo
        marks = list[AnyMark](photo.marks.select_related("yarn", "photo"))
        whites = [mark for mark in marks if mark.kind != Mark.Kind.YARN]
        self.light = LightForm(data, photo=photo, white=whites[0] if whites else None)
        self.white = [BoxForm(_sent(mark, data), mark=mark) for mark in whites]
        self.yarns = [
            YarnMarkForm(_sent(mark, data), mark=mark, yarns=yarns)
            for mark in marks
            if mark.kind == Mark.Kind.YARN
        ]

    def accepted(self) -> list[AnyMark]:
        """Return the marks whose forms were sent and can be used, filled in but not stored."""
        return [form.fill() for form in (*self.white, *self.yarns) if form.is_valid()]

    @property
    def are_valid(self) -> bool:
        forms = (self.light, *self.white, *self.yarns)
        return not any(form.is_bound and form.errors for form in forms)


def read_board(forms: MarkForms, count: CountForm, errors: Sequence[str] = ()) -> Board:
    """Return the page's contents, measured as the marks are stored now."""
    photo = forms.photo
    stored = list[AnyMark](photo.marks.all())
    reading = read_marks(photo, stored)
    return Board(
        photo=photo,
        light=forms.light,
        white=next((_row(0, form, photo) for form in forms.white), None),
        yarns=[
            _row(number, form, photo, reading.marks.get(form.mark.pk))
            for number, form in enumerate(forms.yarns, start=1)
        ],
        count=count,
        reading=reading,
        errors=errors,
    )


def box_round(photo: AnyPhoto, x: float, y: float) -> Box:
    """Return a new square box round a point in fractions, moved inside the photo."""
    half = NEW_SIDE / 2 * max(photo.width, photo.height)
    across, down = (min(half / side, 0.5) for side in (photo.width, photo.height))
    x, y = min(max(x, across), 1 - across), min(max(y, down), 1 - down)
    return Box(max(x - across, 0), max(y - down, 0), min(x + across, 1), min(y + down, 1))


def _row(number: int, form: BoxForm, photo: AnyPhoto, reading: MarkReading | None = None) -> Row:
    box = form.mark.box
    corner = (box.left * photo.width, box.top * photo.height)
    size = ((box.right - box.left) * photo.width, (box.bottom - box.top) * photo.height)
    view_box = " ".join(f"{value:.1f}" for value in (*corner, *size))
    return Row(number, form.mark, form, view_box, reading)


def _sent(mark: AnyMark, data: Any) -> Any:
    return data if data is not None and f"mark-{mark.pk}-left" in data else None


def _per_cent(fraction: float) -> str:
    # Text, so that no language writes it with a comma, which SVG cannot read.
    return f"{fraction * 100:.2f}%"
