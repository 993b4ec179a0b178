"""Which PDFs are refused, and that ordinary ones are not.

What a PDF may carry is ISO 32000-2: encryption 7.6, actions 12.6.4, embedded files 7.11.4.
"""

from io import BytesIO

import pytest
from django.utils import translation
from pypdf import PdfWriter
from pypdf.generic import (
    ArrayObject,
    DictionaryObject,
    NameObject,
    TextStringObject,
)

from schedule.errors import FileRefused
from schedule.pdfs import MAX_PAGES, check_pdf


def written(writer: PdfWriter) -> bytes:
    buffer = BytesIO()
    writer.write(buffer)
    return buffer.getvalue()


def blank(pages=1) -> PdfWriter:
    writer = PdfWriter()
    for _ in range(pages):
        writer.add_blank_page(210, 297)
    return writer


def action(kind: str) -> DictionaryObject:
    return DictionaryObject({NameObject("/S"): NameObject(kind)})


def test_an_ordinary_pdf_is_accepted_with_its_pages():
    assert check_pdf(written(blank(3))).pages == 3


def test_a_link_and_an_outline_are_ordinary():
    writer = blank(2)
    writer.add_outline_item(title="Border", page_number=1)
    link = action("/URI")
    link[NameObject("/URI")] = TextStringObject("https://knits.example")
    annotation = DictionaryObject(
        {NameObject("/Subtype"): NameObject("/Link"), NameObject("/A"): link}
    )
    writer.pages[0][NameObject("/Annots")] = ArrayObject([annotation])
    assert check_pdf(written(writer)).pages == 2


def test_an_encrypted_pdf_is_refused():
    writer = blank()
    writer.encrypt("secret", algorithm="RC4-128")
    with pytest.raises(FileRefused, match="That PDF is encrypted; export it without a password"):
        check_pdf(written(writer))


def scripted() -> PdfWriter:
    """A script in the document's name tree, which a viewer runs when it opens the file."""
    writer = blank()
    script = action("/JavaScript")
    script[NameObject("/JS")] = TextStringObject("app.alert('hello')")
    names = ArrayObject([TextStringObject("hello"), writer._add_object(script)])
    tree = DictionaryObject({NameObject("/Names"): names})
    root_names = DictionaryObject({NameObject("/JavaScript"): tree})
    writer.root_object[NameObject("/Names")] = root_names
    return writer


def with_file() -> PdfWriter:
    writer = blank()
    writer.add_attachment("extra.exe", b"MZ")
    return writer


def opening(kind: str) -> PdfWriter:
    writer = blank()
    writer.root_object[NameObject("/OpenAction")] = action(kind)
    return writer


def on_a_page(kind: str) -> PdfWriter:
    writer = blank()
    triggers = DictionaryObject({NameObject("/O"): action(kind)})
    writer.pages[0][NameObject("/AA")] = triggers
    return writer


@pytest.mark.parametrize(
    "writer",
    [
        scripted(),
        with_file(),
        opening("/Launch"),
        opening("/JavaScript"),
        opening("/SubmitForm"),
        on_a_page("/JavaScript"),
    ],
    ids=["script", "embedded file", "launch", "script at opening", "form", "script on a page"],
)
def test_a_pdf_that_acts_or_carries_files_is_refused(writer):
    with pytest.raises(FileRefused, match=r"That PDF carries .*; export it as a plain PDF"):
        check_pdf(written(writer))


def test_the_refusal_is_in_the_readers_language_from_end_to_end():
    with translation.override("de"), pytest.raises(FileRefused) as refused:
        check_pdf(written(scripted()))
    assert str(refused.value) == (
        "Dieses PDF enthält Skripte; exportiere es als einfaches PDF (PDF/A hat das nicht) "
        "und wähle das."
    )


def test_too_many_pages_are_refused():
    with pytest.raises(FileRefused, match=f"has {MAX_PAGES + 1} pages and the limit is"):
        check_pdf(written(blank(MAX_PAGES + 1)))


def test_no_pages_are_refused():
    with pytest.raises(FileRefused, match=r"no pages|damaged"):
        check_pdf(written(PdfWriter()))


@pytest.mark.parametrize("share", [0.02, 0.3, 0.6, 0.9])
def test_a_pdf_cut_short_is_refused_or_still_whole(share):
    """A reader may mend a lost ending; what it cannot mend is refused, never an error."""
    data = written(blank(5))
    outcome = outcome_of(data[: int(len(data) * share)])
    assert outcome == 5 or "That PDF" in str(outcome)


def outcome_of(data: bytes) -> int | str:
    try:
        return check_pdf(data).pages
    except FileRefused as refused:
        return str(refused)


def test_what_only_calls_itself_a_pdf_is_refused():
    with pytest.raises(FileRefused, match="That file is not a PDF"):
        check_pdf(b"<html>chart.pdf</html>")
