"""Which PDFs may be handed out. Names and numbers of clauses are those of ISO 32000-2:2020."""

import re
import time
import zlib
from contextlib import contextmanager
from io import BytesIO

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader, PdfWriter

from kal.demo.pdf import page_pdf
from schedule.errors import FileRefused
from schedule.pdfs import MAX_PAGES, MAX_SECONDS, check_pdf
from tests.paper.pdf_parts import CONTENT, PAGE, assemble, flate, make_pdf, stream

WHOLE = page_pdf("Clue 1", "Cast on 7 stitches. " * 40)


def passes(data: bytes) -> bool:
    """Whether the PDF passes, or else is refused in a sentence; anything else fails the test."""
    with soon():
        try:
            return check_pdf(data).pages >= 1
        except FileRefused as refused:
            if not re.fullmatch(r"That (PDF|file) .+[.]", str(refused)):
                raise
            return False


@contextmanager
def soon():
    """Fail when the check takes longer than it allows itself, with room for one more object."""
    began = time.perf_counter()
    yield
    assert time.perf_counter() - began < MAX_SECONDS + 10


def refusal(data: bytes) -> str:
    with soon(), pytest.raises(FileRefused) as refused:
        check_pdf(data)
    return str(refused.value)


@pytest.mark.parametrize(
    "data",
    [
        WHOLE,
        make_pdf(),
        make_pdf(contents=flate(CONTENT)),
        # 12.6.4.2 and 12.6.4.8: going to a page and following a web link are no scripts.
        make_pdf(catalog="/OpenAction << /S /GoTo /D [3 0 R /Fit] >>"),
        make_pdf(catalog="/OpenAction [3 0 R /Fit]"),
        make_pdf(
            page=PAGE.replace("/Type /Page ", "/Type /Page /Annots [5 0 R] "),
            more=[
                "<< /Type /Annot /Subtype /Link /Rect [0 0 9 9] "
                "/A << /S /URI /URI (https://example.org) >> >>"
            ],
        ),
    ],
)
def test_plain_pdfs_pass(data):
    assert check_pdf(data).pages == 1


@pytest.mark.parametrize(
    "data",
    [
        make_pdf(catalog="/OpenAction << /S /JavaScript /JS (app.alert\\(1\\)) >>"),
        make_pdf(catalog="/OpenAction 5 0 R", more=["<< /S /Launch /F (calc.exe) >>"]),
        make_pdf(catalog="/OpenAction << /S 5 0 R >>", more=["/Launch"]),
        # 7.3.5: any letter of a name may be written as its number.
        make_pdf(catalog="/OpenAction << /S /#4AavaScript /#4a#53 (1) >>"),
        # 12.6.2: an action names the next.
        make_pdf(catalog="/OpenAction << /S /GoTo /D [3 0 R /Fit] /Next [<< /S /Launch >>] >>"),
        # 7.7.4: scripts of the document by name.
        make_pdf(catalog="/Names << /JavaScript << /Names [(a) 5 0 R] >> >>", more=["<< >>"]),
        # 12.6.3: actions of a page's own opening.
        make_pdf(page=PAGE.replace("/Type", "/AA << /O << /S /GoTo >> >> /Type", 1)),
        # 12.7.6.2 and 12.7.6.4: forms that send and fetch.
        make_pdf(
            page=PAGE.replace("/Type", "/Annots [<< /A << /S /SubmitForm /F (x) >> >>] /Type", 1)
        ),
        make_pdf(
            page=PAGE.replace("/Type", "/Annots [<< /A << /S /ImportData /F (x) >> >>] /Type", 1)
        ),
        # 12.6.4.4: a jump into an embedded file.
        make_pdf(page=PAGE.replace("/Type", "/Annots [<< /A << /S /GoToE >> >>] /Type", 1)),
        # 7.11.4: embedded files, by name and on a page.
        make_pdf(catalog="/Names << /EmbeddedFiles << /Names [] >> >>"),
        make_pdf(
            page=PAGE.replace("/Type", "/Annots [<< /FS << /EF << /F 5 0 R >> >> >>] /Type", 1),
            more=[stream(b"MZ", "/Type /EmbeddedFile")],
        ),
        # 12.7.8 in ISO 32000-1: forms in XML.
        make_pdf(catalog="/AcroForm << /XFA 5 0 R >>", more=[stream(b"<xdp/>")]),
        # 13.7: media that plays.
        make_pdf(page=PAGE.replace("/Type", "/Annots [<< /A << /S /Rendition >> >>] /Type", 1)),
    ],
)
def test_what_acts_by_itself_or_carries_files_is_refused(data):
    assert "That PDF carries" in refusal(data)
    assert "plain PDF" in refusal(data)


def test_scripts_in_an_object_stream_are_found():
    """7.5.7: objects may be packed together and compressed, out of sight of a text search."""
    packed = b"5 0 << /S /JavaScript /JS (app.alert\\(1\\)) >>"
    rows = b"".join(
        bytes([kind, *at.to_bytes(3), third])
        for kind, at, third in [(0, 0, 255), *xref_rows(), (2, 6, 0), (1, 0, 0)]
    )
    data = make_pdf(catalog="/OpenAction 5 0 R", more=["null"])
    body, _, _ = data.partition(b"5 0 obj")
    objstm = b"6 0 obj\n" + flate(packed, "/Type /ObjStm /N 1 /First 4") + b"\nendobj\n"
    rows = rows[:-5] + bytes([1, *len(body).to_bytes(3), 0])
    at = len(body) + len(objstm)
    xref = b"7 0 obj\n" + flate(rows, "/Type /XRef /Size 7 /W [1 3 1] /Root 1 0 R") + b"\nendobj\n"
    data = body + objstm + xref + b"startxref\n%d\n%%%%EOF\n" % at
    assert b"JavaScript" not in data
    assert "scripts" in refusal(data)


def xref_rows() -> list[tuple[int, int, int]]:
    data = make_pdf(catalog="/OpenAction 5 0 R", more=["null"])
    return [(1, data.index(b"%d 0 obj" % number), 0) for number in range(1, 5)]


@pytest.mark.parametrize("password", ["", "wool"])
def test_encrypted_pdfs_are_refused(password):
    writer = PdfWriter(clone_from=PdfReader(BytesIO(WHOLE)))
    writer.encrypt(password, "owner", algorithm="RC4-128")
    buffer = BytesIO()
    writer.write(buffer)
    assert "encrypted; export it without a password" in refusal(buffer.getvalue())


@pytest.mark.parametrize("method", ["/V2", "/AESV2", "/AESV3", "/NoSuch"])
def test_encryption_of_any_kind_is_refused_unread(method):
    """7.6: whatever the method, and whether or not a library for it is installed."""
    crypt = f"/CF << /StdCF << /CFM {method} /Length 32 >> >> /StmF /StdCF /StrF /StdCF"
    keys = f"/O <{'41' * 48}> /U <{'41' * 48}> /OE <{'41' * 32}> /UE <{'41' * 32}> /P -4"
    encrypt = f"/Encrypt << /Filter /Standard /V 5 /R 6 {crypt} {keys} /Perms <{'41' * 16}> >>"
    assert "encrypted" in refusal(make_pdf(trailer=f"{encrypt} /ID [<00> <00>]"))


def test_too_many_pages_are_refused():
    def with_pages(count: int) -> bytes:
        kids = " ".join(f"{5 + i} 0 R" for i in range(count))
        pages = f"<< /Type /Pages /Count {count} /Kids [{kids}] >>"
        return make_pdf(pages=pages, more=[PAGE] * count)

    assert check_pdf(with_pages(MAX_PAGES)).pages == MAX_PAGES
    assert "has 201 pages and the limit is 200" in refusal(with_pages(MAX_PAGES + 1))


def test_no_pages_are_refused():
    empty = make_pdf(pages="<< /Type /Pages /Count 0 /Kids [] >>")
    assert "has no pages" in refusal(empty)


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04", b"<html>%PDF-1.7", b"%!PS-Adobe"])
def test_what_is_no_pdf_is_refused(data):
    assert "not a PDF" in refusal(data)


@pytest.mark.parametrize(
    "data",
    [
        b"%PDF-1.7\n",
        b"%PDF-1.7\n" + b"\x00" * 5000,
        b"%PDF-1.7\nstartxref\n99999999999999999999\n%%EOF",
        b"%PDF-1.7\nxref\n0 99999999999\ntrailer\n<< >>\nstartxref\n9\n%%EOF",
        make_pdf(pages="<< /Type /Pages /Count 1 /Kids 7 >>"),
        make_pdf(pages="[]"),
        make_pdf().replace(b"startxref", b"startnone"),
        make_pdf(contents=stream(b"x", "/Filter /NoSuchFilter")),
        # Nested far deeper than any parser's stack.
        make_pdf(more=[b"[" * 100_000], catalog="/X 5 0 R"),
    ],
)
def test_broken_pdfs_are_refused(data):
    assert "export it again" in refusal(data)


@pytest.mark.parametrize(
    "data",
    [
        make_pdf(pages="<< /Type /Pages /Count 1 /Kids [2 0 R] >>"),
        make_pdf(pages="<< /Type /Pages /Count 2 /Kids [3 0 R 5 0 R] >>",
                 more=["<< /Type /Pages /Count 1 /Kids [2 0 R] >>"]),
        make_pdf(page="3 0 R"),
        make_pdf(more=["6 0 R", "5 0 R"], catalog="/X 5 0 R"),
        make_pdf(contents=b"<< /Length 4 0 R >>\nstream\nx\nendstream"),
        make_pdf(page=PAGE.replace("4 0 R", "[4 0 R 5 0 R]"), more=["[5 0 R 4 0 R]"]),
        make_pdf(trailer="/Prev 9"),
        make_pdf(page=PAGE.replace("/Parent 2 0 R", "/Parent 3 0 R")),
        make_pdf(more=[f"<< /Next {i + 6} 0 R /Prev {i + 4} 0 R >>" for i in range(500)],
                 catalog="/Outlines << /First 5 0 R >>"),
    ],
)  # fmt: skip
def test_loops_of_objects_end(data):
    passes(data)


def test_nested_dictionaries_end():
    passes(make_pdf(more=[b"<</A" * 50_000], catalog="/X 5 0 R"))


def test_a_loop_through_the_file_trailer_ends():
    data = make_pdf()
    start = data.index(b"xref\n0")
    looped = data.replace(b"/Root 1 0 R", b"/Root 1 0 R /Prev %d" % start)
    with soon():
        assert check_pdf(looped).pages == 1


@pytest.mark.parametrize("layers", [1, 2])
def test_a_page_that_unpacks_to_300_megabytes_is_refused(layers):
    packer = zlib.compressobj(9)
    zeros = bytes(10_000_000)
    bomb = b"".join([*(packer.compress(zeros) for _ in range(30)), packer.flush()])
    bomb = zlib.compress(bomb, 9) if layers == 2 else bomb
    filters = "/Filter [" + "/FlateDecode " * layers + "]"
    assert "unpacks" in refusal(make_pdf(contents=stream(bomb, filters)))


def test_many_pages_that_each_unpack_to_much_are_refused():
    count = 100
    content = flate(b" " * 60_000_000)
    kids = " ".join(f"{5 + 2 * i} 0 R" for i in range(count))
    pages = f"<< /Type /Pages /Count {count} /Kids [{kids}] >>"
    more: list[str | bytes] = []
    for i in range(count):
        more += [PAGE.replace("4 0 R", f"{6 + 2 * i} 0 R"), content]
    assert "unpacks" in refusal(make_pdf(pages=pages, more=more))


def test_too_many_objects_are_refused():
    entries = " ".join("[[]]" for _ in range(90_000))
    arrays = [f"[{entries}]" for _ in range(4)]
    data = make_pdf(catalog="/X [5 0 R 6 0 R 7 0 R 8 0 R]", more=arrays)
    assert "too many parts" in refusal(data)


def test_a_check_that_takes_too_long_is_given_up(monkeypatch):
    monkeypatch.setattr("schedule.pdfs.MAX_SECONDS", 0.0)
    assert "too long to look through" in refusal(make_pdf())


@pytest.mark.parametrize("cut", range(0, len(WHOLE), max(1, len(WHOLE) // 60)))
def test_a_file_cut_short_passes_whole_or_is_refused(cut):
    """A reader may mend what is cut and find the page, or refuse; it never fails loudly."""
    passes(WHOLE[:cut])


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_flipped_bytes_pass_or_are_refused(data):
    file = bytearray(
        data.draw(st.sampled_from([WHOLE, make_pdf(), make_pdf(contents=flate(b"q Q"))]))
    )
    places = data.draw(st.lists(st.integers(0, len(file) - 1), min_size=1, max_size=12))
    for place in places:
        file[place] = data.draw(st.integers(0, 255))
    passes(bytes(file))


tokens = st.sampled_from(
    [
        *("<<", ">>", "[", "]", "(", ")", "<41", "stream\n", "endstream", "%", "\x00", "#"),
        *("1 0 R", "5 0 R", "/Kids", "/Type", "/S", "/Parent", "/Filter", "/LZWDecode"),
        *("null", "true", "-1", "1e99", "9" * 400),
    ]
)


@settings(max_examples=150, deadline=None)
@given(st.lists(tokens, max_size=40), st.lists(tokens, max_size=40))
def test_any_tokens_for_objects_pass_or_are_refused(page, more):
    data = make_pdf(page=" ".join(page), more=[" ".join(more)], catalog="/X 5 0 R")
    passes(data)


def test_missing_objects_leave_a_pdf_refused():
    assert "export it again" in refusal(assemble({1: "<< /Type /Catalog /Pages 2 0 R >>"}))
