"""The palette card as a PDF of one page."""

from io import BytesIO
from typing import Final

from kal.paper.area import Area
from kal.paper.sheets import MARGIN, Paper
from kal.typeset import MISSING, drawing, printable
from palettes.card.content import Card
from palettes.card.parts import (
    draw_cautions,
    draw_heading,
    draw_notes,
    draw_pairs,
    draw_yarn,
    pairs_height,
)
from palettes.card.wrapped import draw_wrapped
from palettes.colour.phrases import fill
from palettes.colour.phrases import gettext_noop as _

# Points: the tallest that a yarn's row and the wrapped card grow to when there is room.
TALLEST_ROW, TALLEST_WRAPPED = 76.0, 165.0
ROWS_SHARE: Final = 0.75
LEAST_NOTES: Final = 62.0


def card_pdf(card: Card, paper: Paper = Paper.A4) -> bytes:
    """Return the card as a PDF of one page; the same card gives the same bytes."""
    buffer = BytesIO()
    title = fill(
        _("{knit_along}: palette of {person}"),
        {"knit_along": card.knit_along, "person": card.person},
        card.to,
    )
    with drawing(buffer, paper.value, title=title, language=card.language) as canvas:
        width, height = paper.value
        _draw(card, Area(canvas, MARGIN, MARGIN, width - MARGIN, height - MARGIN))
    return buffer.getvalue()


def _draw(card: Card, area: Area) -> None:
    draw_heading(area, card)
    draw_cautions(area, card.to, is_letter_missing=MISSING in printable(card.words))
    pairs = area.take_bottom(pairs_height(len(card.yarns)) if card.pairs else 0.0)
    count = len(card.yarns)
    row = min(area.height * ROWS_SHARE / count, TALLEST_ROW)
    wrapped = min(area.height - count * row, TALLEST_WRAPPED)
    for yarn in card.yarns:
        draw_yarn(area.take_top(row), yarn, card.to)
    draw_wrapped(area.take_top(wrapped), card.yarns, card.to)
    if card.pairs:
        draw_pairs(pairs, card.yarns, card.pairs, card.to)
    if area.height >= LEAST_NOTES:
        draw_notes(area, card.to)
