"""A chart of one repeat, drawn as a picture: what a clue's attached image looks like."""

from io import BytesIO

from PIL import Image, ImageDraw, ImageFont

from kal.demo.pattern import Ridge, Section

COLUMNS = 15  # odd, as every panel of the pattern is
MOST_RIDGES = 6  # enough to see how two colours meet
CELL = 40  # pixels
MARGIN = 60
INK, PAPER, SHADE = "#222222", "#ffffff", "#e4e0d8"


def chart_png(section: Section) -> bytes:
    """Return a PNG of the last ridges of one repeat: letters at the side, V where to slip."""
    ridges = section.repeat[-MOST_RIDGES:]
    size = (COLUMNS * CELL + 2 * MARGIN, 2 * len(ridges) * CELL + 2 * MARGIN)
    image = Image.new("RGB", size, PAPER)
    draw = ImageDraw.Draw(image)
    for place, ridge in enumerate(ridges):
        draw_ridge(draw, ridge, bottom=size[1] - MARGIN - 2 * CELL * place)
    stream = BytesIO()
    image.save(stream, "PNG", optimize=True)
    return stream.getvalue()


def draw_ridge(draw: ImageDraw.ImageDraw, ridge: Ridge, *, bottom: int) -> None:
    """Draw both rows of a ridge upwards from `bottom`, as a knitter reads a chart."""
    font = ImageFont.load_default(size=24)
    for row in (1, 2):
        top = bottom - row * CELL
        for column in range(COLUMNS):
            left = MARGIN + column * CELL
            box = (left, top, left + CELL, top + CELL)
            is_slipped = ridge.slips and column % 2 == 1
            draw.rectangle(box, outline=INK, fill=SHADE if is_slipped else PAPER)
            if is_slipped:
                draw.text(middle(box), "V", fill=INK, font=font, anchor="mm")
    beside = (MARGIN + COLUMNS * CELL, bottom - 2 * CELL, COLUMNS * CELL + 2 * MARGIN, bottom)
    draw.text(middle(beside), ridge.letter, fill=INK, font=font, anchor="mm")


def middle(box: tuple[int, int, int, int]) -> tuple[float, float]:
    left, top, right, bottom = box
    return (left + right) / 2, (top + bottom) / 2


def chart_in_words(section: Section) -> str:
    """Return the same chart as a sentence, for those who do not see the picture."""
    ridges = section.repeat[-MOST_RIDGES:]
    kinds = [f"{r.letter} {'slipped' if r.slips else 'plain'}" for r in ridges]
    return f"Chart of {len(ridges)} ridges from the bottom up: {', '.join(kinds)}."
