"""The yarns wound side by side around a strip of card, and the same strip in grey."""

from collections.abc import Iterator, Sequence
from typing import Final

from kal.paper.area import BOARD, EDGE, MUTED, Area
from palettes.card.content import CardYarn
from palettes.card.parts import SMALL, draw_section_head
from palettes.colour.ladder import lightness_word
from palettes.colour.phrases import UNTRANSLATED, Translator, whole
from palettes.colour.phrases import gettext_noop as _
from palettes.colour.spaces import Lab, grey_hex, lab_to_hex
from palettes.colour.wording import LIGHTNESS

# Points. Our choice: about twenty strands a yarn for two yarns and thirteen for eight.
STRAND: Final = 4.6
OVERHANG: Final = 4.0
BOARD_END: Final = 9.0
GREY_HEIGHT: Final = 14.0
LABEL_HEIGHT: Final = 15.0

# The golden ratio's fraction: its multiples spread evenly and never fall into a visible rhythm.
_GOLDEN = 0.618033988749895


def draw_wrapped(area: Area, yarns: Sequence[CardYarn], to: Translator = UNTRANSLATED) -> None:
    """Draw the wrapped card in the palette's order, its greys, and their lightness in words."""
    head = _("Wound around a card, in order, and as a greyscale photo shows them")
    draw_section_head(area, to.gettext(head))
    labels = area.take_bottom(LABEL_HEIGHT)
    greys = area.take_bottom(GREY_HEIGHT)
    area.take_bottom(6)
    _draw_board(area)
    for strip in (area, greys, labels):
        strip.take_left(BOARD_END)
        strip.take_right(BOARD_END)
    bands = zip(area.columns(len(yarns)), greys.columns(len(yarns)), strict=True)
    for yarn, (band, grey) in zip(yarns, bands, strict=True):
        _draw_strands(band, yarn)
        grey.box(fill=grey_hex(yarn.lab), edge=EDGE)
    for yarn, label in zip(yarns, labels.columns(len(yarns)), strict=True):
        lightness = to.gettext(LIGHTNESS[lightness_word(yarn.lab.l)])
        words = f"{yarn.letter} {lightness} {whole(yarn.lab.l)}"
        label.take_top(2)
        label.place(label.set(words, SMALL, ink=MUTED, align="centre"))


def _draw_board(area: Area) -> None:
    board = area.centre(area.height - 2 * OVERHANG)
    board.box(fill=BOARD, edge=EDGE)


def _draw_strands(band: Area, yarn: CardYarn) -> None:
    count = max(1, round(band.width / STRAND))
    band.canvas.setLineCap(1)
    for strand, lab in zip(band.columns(count), strand_colours(yarn, count), strict=True):
        middle, reach = (strand.left + strand.right) / 2, strand.width / 2
        lines = ((shaded(lab), strand.width, 0.0), (lab, strand.width * 0.74, -strand.width * 0.05))
        for colour, width, shift in lines:
            band.canvas.setStrokeColor(lab_to_hex(colour))
            band.canvas.setLineWidth(width)
            x = middle + shift
            band.canvas.line(x, band.bottom + reach, x, band.top - reach)
    band.canvas.setLineCap(0)


def strand_colours(yarn: CardYarn, count: int) -> Iterator[Lab]:
    """Yield the colour of each strand: the yarn's own, lighter and darker as far as it strays.

    Lightness alone, evenly spread over twice the yarn's spread either way, so that the mean
    distance is the spread. Only lightness is known to be safe to vary: a measured yarn's hues
    are not kept with it.
    """
    for i in range(count):
        offset = 4 * ((i + 1) * _GOLDEN % 1) - 2
        light = min(max(yarn.lab.l + yarn.spread * offset, 0.0), 100.0)
        yield yarn.lab._replace(l=light)


def shaded(lab: Lab) -> Lab:
    """Return the colour of the groove between two strands: our choice, a fifth darker."""
    return lab._replace(l=lab.l * 0.8)
