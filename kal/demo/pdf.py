"""A clue on one sheet of A4, the same bytes every time."""

from io import BytesIO

from reportlab.lib.pagesizes import A4
from reportlab.lib.utils import simpleSplit
from reportlab.pdfgen.canvas import Canvas

MARGIN, LEADING = 64, 15  # points
FONT, HEADING, SIZE = "Helvetica", "Helvetica-Bold", 11


def page_pdf(title: str, text: str) -> bytes:
    """Return a PDF with the title and the text, whose paragraphs are wrapped to the page."""
    stream = BytesIO()
    # Invariant leaves out the clock and the random file identifier.
    canvas = Canvas(stream, pagesize=A4, invariant=1)
    canvas.setTitle(title)
    width, height = A4
    canvas.setFont(HEADING, SIZE + 4)
    canvas.drawString(MARGIN, height - MARGIN, title)
    body = canvas.beginText(MARGIN, height - MARGIN - 2 * LEADING)
    body.setFont(FONT, SIZE, LEADING)
    for paragraph in text.splitlines():
        body.textLines(simpleSplit(paragraph, FONT, SIZE, width - 2 * MARGIN) or [""])
    canvas.drawText(body)
    canvas.save()
    return stream.getvalue()
