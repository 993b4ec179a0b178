"""The participant's name at the foot of each page, whatever the page's boxes and rotation."""

import math
from io import BytesIO
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PageObject, PdfReader, PdfWriter, Transformation
from pypdf.generic import ContentStream

from kal.demo.pdf import page_pdf
from kal.typeset import ELLIPSIS, MISSING
from schedule.errors import FileRefused
from schedule.pdfs import check_pdf
from schedule.stamping import Sheet, place_sheet, stamp
from tests.paper.pdf_parts import CONTENT, PAGE, flate, make_pdf, stream

NAME, KNIT_ALONG = "Kit Marlow", "The Lantern Walk"
WORDS = f"For {NAME} · {KNIT_ALONG}"


def stamped_pages(data: bytes, name: str = NAME, knit_along: str = KNIT_ALONG) -> list[PageObject]:
    return list(PdfReader(BytesIO(stamp(data, name, knit_along))).pages)


def words_of(page: PageObject) -> str:
    return " ".join(page.extract_text().split())


def stamp_start(page: PageObject) -> tuple[Transformation, str]:
    """Return the matrix from the stamp's first line to the page, and all words of the page."""
    drawn = ContentStream(page.get_contents(), None).operations
    last = max(i for i, (_, operator) in enumerate(drawn) if operator == b"Do")
    (placed,) = [values for values, operator in drawn[last - 1 : last] if operator == b"cm"]
    resources: Any = page["/Resources"]
    form = resources["/XObject"][drawn[last][0][0]]
    lines = [
        values for values, operator in ContentStream(form, None).operations if operator == b"Tm"
    ]
    return as_matrix(lines[0]).transform(as_matrix(placed)), words_of(page)


def as_matrix(numbers: list[Any]) -> Transformation:
    a, b, c, d, e, f = map(float, numbers)
    return Transformation((a, b, c, d, e, f))


def page_with(**entries: str) -> bytes:
    written = {"MediaBox": "[0 0 300 400]", "Resources": "<< >>", **entries}
    body = " ".join(f"/{key} {value}" for key, value in written.items())
    return make_pdf(page=f"<< /Type /Page /Parent 2 0 R /Contents 4 0 R {body} >>")


def test_every_page_has_both_names_and_keeps_its_own_words():
    writer = PdfWriter()
    for number in range(1, 5):
        clue = page_pdf(f"Clue {number}", "Knit to the end.")
        writer.append(BytesIO(clue), outline_item=f"Section {number}")
    buffer = BytesIO()
    writer.write(buffer)
    data = stamp(buffer.getvalue(), NAME, KNIT_ALONG)
    reader = PdfReader(BytesIO(data))
    outline: list[Any] = reader.outline
    for number, page in enumerate(reader.pages, 1):
        assert words_of(page) == f"Clue {number} Knit to the end. {WORDS}"
    assert [item["/Title"] for item in outline] == [f"Section {n}" for n in range(1, 5)]
    assert check_pdf(data).pages == 4


@pytest.mark.parametrize("unit", [1.0, 2.5])
@pytest.mark.parametrize("crop", [None, (40, 60, 250, 390), (290, 380, 10, 20)])
@pytest.mark.parametrize("origin", [(0, 0), (-120, 75)])
@pytest.mark.parametrize("rotate", [0, 90, 180, 270, 360, -90, 450])
def test_stamp_stands_upright_at_the_foot_as_the_page_is_shown(rotate, origin, crop, unit):
    """ISO 32000-2, 7.7.3.3: Rotate turns clockwise, UserUnit scales; 14.11.2: the crop box shows.

    The corner of the shown page is worked out here by turning the box's four corners about.
    """
    x, y = origin
    boxes = {"MediaBox": f"[{x} {y} {x + 300} {y + 400}]"}
    shown = [x, y, x + 300, y + 400]
    if crop:
        corners = [crop[0] + x, crop[1] + y, crop[2] + x, crop[3] + y]
        boxes["CropBox"] = "[{} {} {} {}]".format(*corners)
        xs, ys = sorted(corners[::2]), sorted(corners[1::2])
        shown = [xs[0], ys[0], xs[1], ys[1]]
    data = page_with(**boxes, Rotate=str(rotate), UserUnit=str(unit))
    matrix, words = stamp_start(stamped_pages(data)[0])
    assert words == WORDS

    turn = Transformation().rotate(-rotate).scale(unit)
    corners = [turn.apply_on(corner) for corner in ((shown[0], shown[1]), (shown[2], shown[3]))]
    left, right = sorted(corner[0] for corner in corners)
    bottom, top = sorted(corner[1] for corner in corners)
    start = turn.apply_on(matrix.apply_on((0, 0)))
    ahead = turn.apply_on(matrix.apply_on((1, 0)))
    above = turn.apply_on(matrix.apply_on((0, 1)))

    assert (ahead[0] - start[0], ahead[1] - start[1]) == pytest.approx((1, 0), abs=1e-3)
    assert (above[0] - start[0], above[1] - start[1]) == pytest.approx((0, 1), abs=1e-3)
    assert 8 < start[1] - bottom < min(60, (top - bottom) / 3)
    assert left < start[0] < (left + right) / 2


def test_rotation_is_inherited_from_the_page_tree():
    """ISO 32000-2, table 31: Resources, MediaBox, CropBox and Rotate are inheritable."""
    tree = "<< /Type /Pages /Count 1 /Kids [3 0 R] /MediaBox [0 0 300 400] /Rotate 90 >>"
    page = "<< /Type /Page /Parent 2 0 R /Contents 4 0 R >>"
    matrix, words = stamp_start(stamped_pages(make_pdf(pages=tree, page=page))[0])
    assert words == WORDS
    start, ahead = matrix.apply_on((0, 0)), matrix.apply_on((1, 0))
    # Seen turned clockwise, the page's right edge is the foot and its up is the reader's right.
    assert (ahead[0] - start[0], ahead[1] - start[1]) == pytest.approx((0, 1), abs=1e-3)
    assert 8 < 300 - start[0] < 60


@pytest.mark.parametrize(
    ("entries", "sheet"),
    [
        ({"MediaBox": "[300 400 0 0]"}, Sheet(300, 400)),
        ({"MediaBox": "[0 0 0 0]"}, Sheet(612, 792)),
        ({"MediaBox": "[0 0 (a) 9]"}, Sheet(612, 792)),
        ({"MediaBox": "[0 0 9]"}, Sheet(612, 792)),
        ({"CropBox": "[-900 -900 900 900]"}, Sheet(300, 400)),
        ({"CropBox": "[500 500 600 600]"}, Sheet(300, 400)),
        ({"CropBox": "[7 7 7 7]"}, Sheet(300, 400)),
        ({"UserUnit": "-3"}, Sheet(300, 400)),
        ({"UserUnit": "(wide)"}, Sheet(300, 400)),
        ({"Rotate": "/Left"}, Sheet(300, 400)),
        ({"Rotate": "90"}, Sheet(400, 300)),
    ],
)
def test_impossible_boxes_fall_back_to_what_readers_show(entries, sheet):
    data = page_with(**entries)
    assert place_sheet(PdfReader(BytesIO(data)).pages[0]).sheet == sheet
    assert WORDS in words_of(stamped_pages(data)[0])


def test_the_content_is_neither_decoded_nor_changed():
    content = flate(CONTENT)
    data = stamp(make_pdf(contents=content), NAME, KNIT_ALONG)
    assert content.partition(b"stream\n")[2] in data


def test_graphics_state_of_the_page_does_not_move_the_stamp():
    plain, _ = stamp_start(stamped_pages(make_pdf())[0])
    moved = make_pdf(contents=stream(b"0.5 0 0 0.5 90 90 cm 1 0 0 rg 0 0 9 9 re f"))
    assert stamp_start(stamped_pages(moved)[0])[0].ctm == plain.ctm


def test_a_page_shown_twice_is_stamped_once():
    data = make_pdf(pages="<< /Type /Pages /Count 2 /Kids [3 0 R 3 0 R] >>")
    assert [words_of(page) for page in stamped_pages(data)] == [WORDS, WORDS]


def test_resources_that_pages_share_are_left_alone():
    page = PAGE.replace("<< >>", "6 0 R")
    data = make_pdf(
        pages="<< /Type /Pages /Count 2 /Kids [3 0 R 5 0 R] >>",
        page=page,
        more=[
            page,
            "<< /XObject << /Stamp0 7 0 R >> >>",
            stream(b"", "/Type /XObject /Subtype /Form /BBox [0 0 9 9]"),
        ],
    )
    for page_object in stamped_pages(data):
        resources: Any = page_object["/Resources"]
        assert sorted(resources["/XObject"]) == ["/Stamp0", "/Stamp1"]
        assert words_of(page_object) == WORDS


@pytest.mark.parametrize("contents", ["", "/Contents 9 0 R", "/Contents []", "/Contents null"])
def test_a_page_without_content_is_stamped(contents):
    data = make_pdf(page=PAGE.replace("/Contents 4 0 R", contents))
    assert words_of(stamped_pages(data)[0]) == WORDS


def test_fonts_are_embedded_once_and_small():
    writer = PdfWriter(clone_from=PdfReader(BytesIO(make_pdf())))
    for size in range(100, 120):
        writer.add_blank_page(size, 2 * size)
    buffer = BytesIO()
    writer.write(buffer)
    data = stamp(buffer.getvalue(), NAME, KNIT_ALONG)
    assert data.count(b"/FontFile2") == 1
    assert len(data) - len(buffer.getvalue()) < 60_000


def test_the_same_name_gives_the_same_bytes():
    assert stamp(make_pdf(), NAME, KNIT_ALONG) == stamp(make_pdf(), NAME, KNIT_ALONG)
    assert stamp(make_pdf(), NAME, KNIT_ALONG) != stamp(make_pdf(), "Sam", KNIT_ALONG)


@pytest.mark.parametrize(
    ("name", "printed"),
    [
        ("Þórdís Łąka", "Þórdís Łąka"),
        ("Ξένια Жукова", "Ξένια Жукова"),
        ("毛糸", MISSING * 2),
        ("(Kit) \\ %<>[]{}/", "(Kit) \\ %<>[]{}/"),
        ("Kit\nEMC Q", "Kit EMC Q"),
        ("\ud83e", MISSING),
        ("", "For ·"),
    ],
)
def test_names_in_any_script(name, printed):
    assert printed in words_of(stamped_pages(make_pdf(), name)[0])


def test_a_long_name_takes_two_lines_or_ends_in_an_ellipsis():
    two = words_of(
        stamped_pages(make_pdf(), "Wilhelmina Featherstonehaugh of the Outer Skerries")[0]
    )
    assert two.endswith(KNIT_ALONG)
    cut = words_of(stamped_pages(make_pdf(), "W" * 400)[0])
    assert cut.startswith("For WWW")
    assert cut.endswith(ELLIPSIS)


def test_encrypted_and_broken_files_are_refused():
    writer = PdfWriter(clone_from=PdfReader(BytesIO(make_pdf())))
    writer.encrypt("wool", algorithm="RC4-128")
    buffer = BytesIO()
    writer.write(buffer)
    with pytest.raises(FileRefused, match="encrypted, so no copy"):
        stamp(buffer.getvalue(), NAME, KNIT_ALONG)
    for data in (b"", b"%PDF-1.7\n", make_pdf()[:300], make_pdf(page="3 0 R")):
        with pytest.raises(FileRefused, match="damaged, so no copy"):
            stamp(data, NAME, KNIT_ALONG)


numbers = st.one_of(st.integers(-(10**9), 10**9), st.floats(-1e6, 1e6).map("{:.3f}".format))
boxes = st.lists(numbers, min_size=3, max_size=5).map(lambda box: f"[{' '.join(map(str, box))}]")


@settings(max_examples=100, deadline=None)
@given(boxes, st.none() | boxes, st.integers(-1000, 1000), st.text(max_size=80), numbers)
def test_any_boxes_rotation_and_name_give_a_readable_page(media, crop, rotate, name, unit):
    entries = {"MediaBox": media, "Rotate": str(rotate), "UserUnit": str(unit)}
    data = page_with(**entries, **({"CropBox": crop} if crop else {}))
    placement = place_sheet(PdfReader(BytesIO(data)).pages[0])
    assert all(map(math.isfinite, placement.matrix))
    assert placement.sheet.width > 0 < placement.sheet.height
    assert check_pdf(stamp(data, name, KNIT_ALONG)).pages == 1


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_what_the_check_lets_pass_can_be_stamped_or_is_refused(data):
    file = bytearray(make_pdf(contents=flate(b"q Q")))
    for place in data.draw(st.lists(st.integers(9, len(file) - 1), max_size=6)):
        file[place] = data.draw(st.integers(0, 255))
    try:
        stamped = stamp(bytes(file), NAME, KNIT_ALONG)
    except FileRefused:
        return
    assert stamped.startswith(b"%PDF-")
