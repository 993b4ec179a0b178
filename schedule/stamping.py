"""A participant's own copy of a PDF: their name and the knit-along at the foot of each page.

The pages' own content is never decoded or rewritten. It is put between a save and a restore of
the graphics state, and the stamp is drawn after it, so tags, links and charts stay as they are.
"""

import logging
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Any, Final

from django.utils.translation import gettext as _
from pypdf import PageObject, PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    DecodedStreamObject,
    DictionaryObject,
    IndirectObject,
    NameObject,
    NullObject,
    RectangleObject,
)

from kal.typeset import ROMAN, Fitted, drawing, fit, text_width
from schedule.errors import FileRefused
from schedule.pdfs import BROKEN

# A change of anything below counts up VERSION in stamped.py, so that copies are made anew.
# Points on A4, whose shorter side is 595: our choice, small but readable; larger sheets get it
# larger in proportion, so that it reads when a chart is printed smaller.
LETTER_SIZE, A4_WIDTH = 8.0, 595.0
SMALLEST, LARGEST = 4.0, 24.0
SHRINK: Final = (1.0, 0.9, 0.8, 0.7, 0.6)
# In sizes of the letters: the distance of the lower line from the edge, about 6 mm on A4, which
# is more than common printers leave blank; and the room to either side of the page.
RISE, SIDE, LEADING = 2.2, 3.0, 1.25
INK, PAPER = "#5c5852", "#ffffff"
PAPER_OPACITY = 0.85  # our choice: the words read on a full-page photo, which shows through


@dataclass(frozen=True, slots=True)
class Sheet:
    """A page as a reader sees it: upright, cropped, in points of 1/72 inch."""

    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a sheet lies on its page: the matrix from sheet to page coordinates."""

    sheet: Sheet
    matrix: tuple[float, float, float, float, float, float]


def stamp(data: bytes, name: str, knit_along: str) -> bytes:
    """Return the PDF with both names at the foot of each page; the same input, the same bytes.

    FileRefused when it cannot be read, which `pdfs.check_pdf` finds out at upload.
    """
    logging.getLogger("pypdf").setLevel(logging.ERROR)
    try:
        return _stamped(
            data, _("For {name} · {knit_along}").format(name=name, knit_along=knit_along)
        )
    except FileRefused:
        raise
    except BROKEN:
        raise FileRefused(_("That PDF is damaged, so no copy of it can be made.")) from None


def _stamped(data: bytes, words: str) -> bytes:
    reader = PdfReader(BytesIO(data), strict=False)
    if reader.is_encrypted:
        raise FileRefused(_("That PDF is encrypted, so no copy of it can be made."))
    writer = PdfWriter(clone_from=reader)
    # A page that the document shows twice is one object and is stamped once.
    pages = list({id(page): page for page in map(_own_object, writer.pages)}.values())
    placements = [place_sheet(page) for page in pages]
    forms = _draw_forms(writer, words, dict.fromkeys(place.sheet for place in placements))
    save = _add_stream(writer, b"q\n")
    for page, placement in zip(pages, placements, strict=True):
        _overlay(writer, page, save, forms[placement.sheet], placement)
    buffer = BytesIO()
    writer.write(buffer)
    return buffer.getvalue()


def _own_object(page: PageObject) -> Any:
    """Return the object the writer will write; pypdf has given it all that it inherits."""
    return page.indirect_reference.get_object() if page.indirect_reference else page


def place_sheet(page: DictionaryObject) -> Placement:
    """Return the sheet that a reader shows of this page and where it lies.

    Source: ISO 32000-2, 7.7.3.3 (Rotate: clockwise; UserUnit) and 14.11.2.1 (the crop box is
    what is shown, and no more of it than the media box holds).
    """
    left, bottom, right, top = _shown_box(page)
    unit = _number(_value(page, "/UserUnit"), 1.0)
    scale = 1 / unit
    width, height = (right - left) * unit, (top - bottom) * unit
    match int(_number(_value(page, "/Rotate"), 0.0, least=-math.inf)) // 90 % 4:
        case 1:
            return Placement(Sheet(height, width), (0, scale, -scale, 0, right, bottom))
        case 2:
            return Placement(Sheet(width, height), (-scale, 0, 0, -scale, right, top))
        case 3:
            return Placement(Sheet(height, width), (0, -scale, scale, 0, left, top))
        case _:
            return Placement(Sheet(width, height), (scale, 0, 0, scale, left, bottom))


def _value(dictionary: DictionaryObject, key: str) -> Any:
    """Return the value itself; get() would leave a reference as such."""
    return dictionary.get(key, NullObject()).get_object()


def _shown_box(page: DictionaryObject) -> tuple[float, float, float, float]:
    media = _box(_value(page, "/MediaBox"))
    if media is None:
        # ISO 32000-2 requires a media box; readers fall back to US Letter.
        media = (0.0, 0.0, 612.0, 792.0)
    crop = _box(_value(page, "/CropBox")) or media
    left, bottom = max(crop[0], media[0]), max(crop[1], media[1])
    right, top = min(crop[2], media[2]), min(crop[3], media[3])
    return (left, bottom, right, top) if left < right and bottom < top else media


def _box(value: Any) -> tuple[float, float, float, float] | None:
    """Return left, bottom, right, top of any two opposite corners, or None if it has no area."""
    if not isinstance(value, ArrayObject) or len(value) != 4:
        return None
    x1, y1, x2, y2 = (_number(number, math.nan, least=-math.inf) for number in value)
    if not all(map(math.isfinite, (x1, y1, x2, y2))) or x1 == x2 or y1 == y2:
        return None
    return min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2)


def _number(value: Any, default: float, *, least: float = 1e-6) -> float:
    try:
        number = float(value)
    except (TypeError, ValueError, OverflowError):
        return default
    return number if math.isfinite(number) and number >= least else default


def _draw_forms(
    writer: PdfWriter, words: str, sheets: Iterable[Sheet]
) -> dict[Sheet, IndirectObject]:
    """Return a form XObject with the stamp for each size of sheet."""
    sheets = list(sheets)
    buffer = BytesIO()
    with drawing(buffer, (A4_WIDTH, A4_WIDTH), title="") as canvas:
        for sheet in sheets:
            _draw_stamp(canvas, words, sheet)
            canvas.showPage()
    # Cloned out of one reader, so that the pages' forms share one copy of the font.
    drawn = PdfReader(buffer).pages
    return {sheet: _add_form(writer, drawn[i], sheet) for i, sheet in enumerate(sheets)}


def _draw_stamp(canvas: Any, words: str, sheet: Sheet) -> None:
    fitted = _fit_words(words, sheet)
    canvas.setFont(ROMAN, fitted.size)
    lines = [(line, text_width(line, ROMAN, fitted.size)) for line in fitted.lines]
    baselines = [fitted.size * (RISE + LEADING * i) for i in reversed(range(len(lines)))]
    canvas.setFillColor(PAPER, alpha=PAPER_OPACITY)
    for (_text, width), baseline in zip(lines, baselines, strict=True):
        _draw_backing(canvas, (sheet.width - width) / 2, baseline, width, fitted.size)
    canvas.setFillColor(INK, alpha=1)
    for (line, width), baseline in zip(lines, baselines, strict=True):
        canvas.drawString((sheet.width - width) / 2, baseline, line)


def _draw_backing(canvas: Any, left: float, baseline: float, width: float, size: float) -> None:
    canvas.rect(
        left - size / 2, baseline - 0.3 * size, width + size, LEADING * size, stroke=0, fill=1
    )


def _fit_words(words: str, sheet: Sheet) -> Fitted:
    full = LETTER_SIZE * min(sheet.width, sheet.height) / A4_WIDTH
    # A sheet smaller than A4 keeps A4's letters until its width is too little for them.
    size = min(max(full, LETTER_SIZE), LARGEST)
    sizes = [max(size * share, SMALLEST) for share in SHRINK]
    return fit(words, ROMAN, max(sheet.width - 2 * SIDE * SMALLEST, 1.0), [*sizes, SMALLEST], 2)


def _add_form(writer: PdfWriter, page: PageObject, sheet: Sheet) -> IndirectObject:
    contents = page.get_contents()
    resources: Any = page["/Resources"]
    form = DecodedStreamObject()
    form.set_data(b"" if contents is None else contents.get_data())
    form.update(
        {
            NameObject("/Type"): NameObject("/XObject"),
            NameObject("/Subtype"): NameObject("/Form"),
            NameObject("/BBox"): RectangleObject((0, 0, sheet.width, sheet.height)),
            NameObject("/Resources"): resources.clone(writer),
        }
    )
    return writer._add_object(form)


def _add_stream(writer: PdfWriter, content: bytes) -> IndirectObject:
    stream = DecodedStreamObject()
    stream.set_data(content)
    return writer._add_object(stream)


def _overlay(
    writer: PdfWriter,
    page: DictionaryObject,
    save: IndirectObject,
    form: IndirectObject,
    placement: Placement,
) -> None:
    name = _add_resource(page, form)
    matrix = " ".join(f"{number:.6f}" for number in placement.matrix)
    # An artifact is no part of the text that a screen reader reads out (ISO 32000-2, 14.8.2.2).
    footer = "/Artifact <</Type /Pagination /Subtype /Footer>> BDC"
    draw = f"\nQ\n{footer}\nq {matrix} cm {name} Do Q\nEMC\n".encode()
    page[NameObject("/Contents")] = ArrayObject(
        [save, *_content_streams(page), _add_stream(writer, draw)]
    )


def _content_streams(page: DictionaryObject) -> Sequence[Any]:
    if "/Contents" not in page:
        return ()
    whole = page.raw_get("/Contents")
    contents = page["/Contents"]
    # Unlike its own iterator, the list's leaves references as such.
    return list(list.__iter__(contents)) if isinstance(contents, ArrayObject) else [whole]


def _add_resource(page: DictionaryObject, form: IndirectObject) -> str:
    """Name the form among the page's resources, of which other pages may use the same object."""
    resources = _copy(_value(page, "/Resources"))
    forms = _copy(_value(resources, "/XObject"))
    name = next(name for i in range(len(forms) + 1) if (name := f"/Stamp{i}") not in forms)
    forms[NameObject(name)] = form
    resources[NameObject("/XObject")] = forms
    page[NameObject("/Resources")] = resources
    return name


def _copy(value: Any) -> DictionaryObject:
    if not isinstance(value, DictionaryObject):
        return DictionaryObject()
    return DictionaryObject({key: value.raw_get(key) for key in value})
