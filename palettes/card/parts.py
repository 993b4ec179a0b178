"""The parts of a palette card: heading, yarns, wrapped strip, pairs, notes and cautions."""

from collections.abc import Sequence
from itertools import product
from typing import Final

from kal.paper.area import EDGE, INK, MUTED, Area, Block
from kal.typeset import ELLIPSIS, ITALIC, MISSING
from palettes.card.content import Card, CardPair, CardYarn
from palettes.colour.contrast import GRADES
from palettes.colour.phrases import UNTRANSLATED, Translator, fill, whole
from palettes.colour.phrases import gettext_noop as _
from palettes.colour.spaces import lab_to_hex
from palettes.colour.wording import GRADE_NAMES
from palettes.colour.wording import GRADES as GRADE_MEANINGS

# Points, largest first: text takes the first size that fits.
TITLE: Final = (27, 24, 21, 18, 15, 13, 11)
PERSON: Final = (13, 12, 11, 10, 9, 8)
NAME: Final = (12.5, 11.5, 10.5, 9.5, 8.5, 7.5, 6.5)
SMALL: Final = (8.5, 8.0, 7.5, 7.0, 6.5)
TINY: Final = (7.5, 7.0, 6.0, 5.0)
CAUTIONS: Final = (7.6, 7.2, 6.8)

LETTER_WIDTH, SWATCH_WIDTH, SLOT_WIDTH, GUTTER = 20.0, 84.0, 104.0, 14.0
SECTION_HEAD = 22.0
PAIR_ROW = 13.0
LEGEND_WIDTH = 176.0
NOTE_LINE = 20.0

CAUTION: Final = _(
    "Colours differ between screen, paper and wool: judge by the yarn itself, in daylight. "
    "Wash-test saturated yarns before you cast on: soak a strand in lukewarm water on white cloth, "
    "in gloves if your skin is sensitive. What the ball band and the dyer say comes first."
)
LETTER_MISSING: Final = _(
    "{sign} stands for a letter that the fonts used here do not have; write it in by hand."
)


def draw_heading(area: Area, card: Card) -> None:
    """Draw the knit-along's title and whose palette this is, and take that from the top."""
    line = area.take_top(11)
    corner = line.take_right(line.width / 2)
    corner.place(corner.set(card.note, SMALL, ink=MUTED, align="right"))
    line.place(line.set(card.to.gettext(_("Palette card")), SMALL, ink=MUTED))
    area.take_top(2)
    area.place(area.set(card.knit_along, TITLE, most_lines=2))
    area.take_top(1)
    whose = fill(_("Palette of {person}"), {"person": card.person}, card.to)
    area.place(area.set(whose, PERSON, font=ITALIC, ink=MUTED, most_lines=2))
    area.take_top(11)


def draw_cautions(area: Area, to: Translator = UNTRANSLATED, *, is_letter_missing: bool) -> None:
    """Draw the cautions along the foot, and take that from the bottom."""
    text = to.gettext(CAUTION)
    if is_letter_missing:
        text = f"{text} {fill(LETTER_MISSING, {'sign': MISSING}, to)}"
    block = area.set(text, CAUTIONS, font=ITALIC, ink=MUTED, most_lines=4)
    foot = area.take_bottom(block.height + 6)
    foot.rule()
    foot.take_top(6)
    foot.place(block)


def draw_yarn(area: Area, yarn: CardYarn, to: Translator = UNTRANSLATED) -> None:
    """Draw one yarn: letter, swatch, words, and a place for a strand of the real one."""
    area.rule()
    row = area.centre(area.height - 9)
    letter = row.take_left(LETTER_WIDTH, 4)
    letter_block = letter.set(yarn.letter, (15, 12, 9, 7, 5))
    letter.centre(letter_block.height).place(letter_block)
    row.take_left(SWATCH_WIDTH, GUTTER).box(fill=lab_to_hex(yarn.lab), edge=EDGE)
    draw_slot(row.take_right(SLOT_WIDTH, GUTTER), yarn.letter, to)
    blocks = _yarn_words(row, yarn, to)
    words = row.centre(sum(block.height for block in blocks))
    for block in blocks:
        words.place(block)


def _yarn_words(row: Area, yarn: CardYarn, to: Translator) -> list[Block]:
    """Return name, colour and facts, as large as lets them all stand in the row whole."""
    blocks: list[Block] = []
    for small, name in product(SMALL, NAME):
        if name >= small or name == NAME[-1]:
            blocks = _set_words(row, yarn, to, small, name)
            if _stands(blocks, row.height):
                break
    return blocks


def _set_words(row: Area, yarn: CardYarn, to: Translator, small: float, name: float) -> list[Block]:
    values = {
        "colour": yarn.colour_words,
        "lightness": whole(yarn.lab.l),
        "hex": lab_to_hex(yarn.lab),
    }
    colour = fill(_("{colour}, lightness L* {lightness}, {hex}"), values, to)
    facts = " \N{MIDDLE DOT} ".join(yarn.facts(to))
    blocks = [
        row.set(yarn.name.strip() or to.gettext(_("(no name)")), (name,), most_lines=2),
        row.set(colour, (small,)),
    ]
    return [*blocks, row.set(facts, (small,), ink=MUTED, most_lines=2)] if facts else blocks


def _stands(blocks: Sequence[Block], height: float) -> bool:
    is_cut = any(block.lines[-1].endswith(ELLIPSIS) for block in blocks)
    return not is_cut and sum(block.height for block in blocks) <= height


def draw_slot(area: Area, letter: str, to: Translator = UNTRANSLATED) -> None:
    """Draw a dashed place to tape or wind a strand of the real yarn."""
    area.canvas.setDash(2, 2)
    area.box(edge=EDGE, line=0.5)
    area.canvas.setDash()
    inside = area.centre(area.height)
    inside.take_left(5)
    inside.take_right(5)
    words = fill(_("wrap {letter} here"), {"letter": letter}, to)
    hint = inside.set(words, TINY, font=ITALIC, ink=MUTED, align="centre")
    inside.centre(hint.height).place(hint)


def draw_section_head(area: Area, text: str) -> None:
    """Draw a small heading under a hairline, and take that from the top."""
    head = area.take_top(SECTION_HEAD)
    head.rule()
    head.take_top(6)
    head.place(head.set(text, SMALL, ink=MUTED))


def pairs_height(count: int) -> float:
    """Return the points that the pair table of `count` yarns takes."""
    return SECTION_HEAD + max(PAIR_ROW * count, PAIR_ROW * (len(GRADES) + 1)) + 8


def draw_pairs(
    area: Area,
    yarns: Sequence[CardYarn],
    pairs: Sequence[CardPair],
    to: Translator = UNTRANSLATED,
) -> None:
    """Draw the grade of every pair as a word, and what the words mean."""
    draw_section_head(area, to.gettext(_("How each pair reads side by side")))
    _draw_legend(area.take_right(LEGEND_WIDTH, GUTTER), to)
    grades = {frozenset((pair.first, pair.second)): pair.grade for pair in pairs}
    _draw_row(area.take_top(PAIR_ROW), None, [yarn.letter for yarn in yarns[:-1]], len(yarns) - 1)
    for position in range(1, len(yarns)):
        cells = [grades.get(frozenset((other, position))) for other in range(position)]
        words = [to.gettext(GRADE_NAMES[cell]) if cell else "" for cell in cells]
        _draw_row(area.take_top(PAIR_ROW), yarns[position], words, len(yarns) - 1)


def _draw_row(row: Area, yarn: CardYarn | None, cells: Sequence[str], columns: int) -> None:
    head = row.take_left(LETTER_WIDTH + 14, 4)
    if yarn is not None:
        head.take_left(LETTER_WIDTH).place(head.set(yarn.letter, SMALL))
        head.centre(7.5).box(fill=lab_to_hex(yarn.lab), edge=EDGE)
    for cell, text in zip(row.columns(columns), cells, strict=False):
        cell.right -= 4
        cell.place(cell.set(text, SMALL, ink=INK if yarn else MUTED))


def _draw_legend(area: Area, to: Translator) -> None:
    for grade in GRADES:
        line = area.take_top(PAIR_ROW)
        word = line.take_left(46)
        word.place(word.set(to.gettext(GRADE_NAMES[grade]), SMALL))
        line.place(line.set(to.gettext(GRADE_MEANINGS[grade]), TINY, font=ITALIC, ink=MUTED))


def draw_notes(area: Area, to: Translator = UNTRANSLATED) -> None:
    """Draw lines to write on in what is left of the page."""
    draw_section_head(area, to.gettext(_("Notes")))
    while area.height >= NOTE_LINE:
        area.take_top(NOTE_LINE)
        area.rule()
