"""A one-page PDF of plain lines, the same bytes every time.

Written after ISO 32000-1:2008, 7.5 (file structure) and 9.4 (text), with one of the fourteen
standard fonts, so that nothing has to be embedded.
"""

import textwrap

PAGE = (595, 842)  # A4 in points
LEFT, TOP, LEADING = 72, 770, 16
COLUMNS = 84  # of 11 point Helvetica between the margins, a little less than fits
MOST_LINES = 44


def page_pdf(title: str, text: str) -> bytes:
    """Return a PDF with the title and as much of the text as one page holds."""
    lines = [title, ""]
    for paragraph in text.splitlines():
        lines += textwrap.wrap(paragraph, COLUMNS) or [""]
    return assemble(
        [
            b"<< /Type /Catalog /Pages 2 0 R /Lang (en) >>",
            b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
            b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 %d %d] /Contents 4 0 R" % PAGE
            + b" /Resources << /Font << /F 5 0 R >> >> >>",
            stream_of(lines[:MOST_LINES]),
            b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>",
        ]
    )


def stream_of(lines: list[str]) -> bytes:
    shown = b"\n".join(b"(%s) '" % escaped(line) for line in lines)
    content = b"BT /F 11 Tf %d TL %d %d Td\n%s\nET" % (LEADING, LEFT, TOP, shown)
    return b"<< /Length %d >>\nstream\n%s\nendstream" % (len(content), content)


def escaped(line: str) -> bytes:
    """Return the line as the inside of a PDF string, in the font's own encoding."""
    for mark in "\\()":
        line = line.replace(mark, f"\\{mark}")
    return line.encode("cp1252", errors="replace")


def assemble(objects: list[bytes]) -> bytes:
    """Return a whole file: header, numbered objects, the table of where each begins, trailer."""
    file = bytearray(b"%PDF-1.4\n")
    offsets = []
    for number, content in enumerate(objects, start=1):
        offsets.append(len(file))
        file += b"%d 0 obj\n%s\nendobj\n" % (number, content)
    table_at = len(file)
    file += b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    file += b"".join(b"%010d 00000 n \n" % offset for offset in offsets)
    file += b"trailer\n<< /Size %d /Root 1 0 R >>\n" % (len(objects) + 1)
    file += b"startxref\n%d\n%%%%EOF\n" % table_at
    return bytes(file)
