"""PDFs written by hand, so that a test can say exactly what is odd about one."""

import zlib
from collections.abc import Mapping, Sequence

PAGE = "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 300 400] /Contents 4 0 R /Resources << >> >>"
CONTENT = b"0.2 0.3 0.4 rg 40 40 220 320 re f"


def stream(content: bytes, entries: str = "") -> bytes:
    """Return a stream object's body."""
    return f"<< /Length {len(content)} {entries} >>\nstream\n".encode() + content + b"\nendstream"


def flate(content: bytes, entries: str = "") -> bytes:
    """Return a compressed stream object's body."""
    return stream(zlib.compress(content, 9), f"/Filter /FlateDecode {entries}")


def make_pdf(
    *,
    catalog: str = "",
    page: str = PAGE,
    contents: bytes | None = None,
    pages: str = "<< /Type /Pages /Count 1 /Kids [3 0 R] >>",
    more: Sequence[str | bytes] = (),
    trailer: str = "",
) -> bytes:
    """Return a PDF with a correct table: 1 catalogue, 2 page tree, 3 page, 4 content, 5… `more`."""
    bodies: list[str | bytes] = [
        f"<< /Type /Catalog /Pages 2 0 R {catalog} >>",
        pages,
        page,
        stream(CONTENT) if contents is None else contents,
        *more,
    ]
    return assemble(dict(enumerate(bodies, 1)), trailer)


def assemble(bodies: Mapping[int, str | bytes], trailer: str = "") -> bytes:
    """Return a PDF of numbered objects, with a correct cross-reference table."""
    file = bytearray(b"%PDF-1.7\n")
    table = bytearray(b"0000000000 65535 f \n")
    for number, body in bodies.items():
        table += b"%010d 00000 n \n" % len(file)
        file += b"%d 0 obj\n" % number
        file += body if isinstance(body, bytes) else body.encode()
        file += b"\nendobj\n"
    start = len(file)
    size = len(bodies) + 1
    file += b"xref\n0 %d\n" % size + table
    file += f"trailer\n<< /Size {size} /Root 1 0 R {trailer} >>\n".encode()
    return bytes(file + b"startxref\n%d\n%%%%EOF\n" % start)
