"""Join codes as cards to cut out: the code, its QR code, and what to do with it."""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from itertools import batched
from typing import Any, Final

from django.utils.translation import gettext as _

from kal.paper.area import EDGE, MUTED, Area
from kal.paper.qr import draw_qr
from kal.paper.sheets import Paper
from kal.typeset import ITALIC, drawing, printable

# Columns and rows on a sheet. Our choice: ten are about the size of a visiting card on A4 and on
# Letter, four fill a postcard each.
LAYOUTS: Final = {"10": (2, 5), "4": (2, 2)}
# Points. Our choice: 10 mm, as most printers leave 5 mm blank.
SHEET_MARGIN: Final = 28.3
INSIDE: Final = 11.0
QR_SHARE: Final = 0.44  # of a card's width, so that the words beside it keep the larger half
TITLE: Final = (13, 12, 11, 10, 9)
CODE: Final = (17, 15, 13, 12)
SMALL: Final = (8.5, 8, 7.5, 7, 6.5, 6)
TALL_QR_SHARE: Final = 0.78
TALL_TITLE: Final = (19, 17, 15, 13, 11)
TALL_CODE: Final = (25, 22, 19)
TALL_SMALL: Final = (10.5, 9.5, 8.5, 7.5)

type Sizes = Sequence[float]


@dataclass(frozen=True, slots=True)
class JoinCard:
    """One card: the code as it is typed, and the address that has it filled in."""

    code: str
    address: str


@dataclass(frozen=True, slots=True)
class CardWords:
    """What stands on every card of a batch."""

    knit_along: str
    join_page: str
    note: str


def join_cards_pdf(
    cards: Sequence[JoinCard], words: CardWords, paper: Paper, layout: tuple[int, int]
) -> bytes:
    """Return the cards as a PDF, `layout` columns and rows to a sheet; equal ones, equal bytes."""
    buffer = BytesIO()
    columns, rows = layout
    width, height = paper.value
    with drawing(buffer, paper.value, title=_("%s: join codes") % words.knit_along) as canvas:
        for sheet in batched(cards, columns * rows):
            whole = Area(
                canvas, SHEET_MARGIN, SHEET_MARGIN, width - SHEET_MARGIN, height - SHEET_MARGIN
            )
            _cutting_lines(whole, columns, rows)
            tall = whole.height / rows
            for line in batched(sheet, columns):
                for card, place in zip(line, whole.take_top(tall).columns(columns), strict=False):
                    _draw_card(place, card, words)
            canvas.showPage()
    return buffer.getvalue()


def _cutting_lines(whole: Area, columns: int, rows: int) -> None:
    canvas: Any = whole.canvas
    canvas.setStrokeColor(EDGE)
    canvas.setLineWidth(0.4)
    canvas.setDash(2, 3)
    for column in range(columns + 1):
        x = whole.left + whole.width * column / columns
        canvas.line(x, whole.bottom, x, whole.top)
    for row in range(rows + 1):
        y = whole.bottom + whole.height * row / rows
        canvas.line(whole.left, y, whole.right, y)
    canvas.setDash()


def _draw_card(place: Area, card: JoinCard, words: CardWords) -> None:
    inside = Area(
        place.canvas,
        place.left + INSIDE,
        place.bottom + INSIDE,
        place.right - INSIDE,
        place.top - INSIDE,
    )
    (_fill_tall if place.height > place.width else _fill_wide)(inside, card, words)


def _fill_wide(inside: Area, card: JoinCard, words: CardWords) -> None:
    """Set the words left of the QR code."""
    side = min(inside.height, inside.width * QR_SHARE)
    draw_qr(inside.take_right(side, 6).centre(side), card.address)
    _set_words(inside, card, words, TITLE, CODE, SMALL)


def _fill_tall(inside: Area, card: JoinCard, words: CardWords) -> None:
    """Set the words above and below a QR code that fills the card's width."""
    middle = inside.centre(inside.width * TALL_QR_SHARE)
    left = (inside.width - middle.height) / 2
    draw_qr(
        Area(middle.canvas, middle.left + left, middle.bottom, middle.right, middle.top),
        card.address,
    )
    _set_words(inside, card, words, TALL_TITLE, TALL_CODE, TALL_SMALL)


def _set_words(
    inside: Area,
    card: JoinCard,
    words: CardWords,
    title: Sizes,
    code: Sizes,
    small: Sizes,
) -> None:
    inside.place(inside.set(words.knit_along, title, most_lines=2))
    inside.take_top(3)
    text = _("Scan the square, or go to the address below and type:")
    inside.place(inside.set(text, small, font=ITALIC, ink=MUTED, most_lines=2))
    inside.take_top(3)
    inside.place(inside.set(card.code, code))
    foot = inside.set(words.note, small, ink=MUTED, most_lines=2)
    inside.take_bottom(foot.height).place(foot)
    page = inside.set(printable(words.join_page), small, ink=MUTED, most_lines=3)
    inside.take_bottom(page.height + 2).place(page)
