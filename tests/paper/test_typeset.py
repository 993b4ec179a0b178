import threading
from io import BytesIO

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from kal.typeset import ELLIPSIS, ITALIC, MISSING, ROMAN, drawing, fit, printable, text_width, wrap


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("Zoë", "Zoë"),
        ("Zoe\N{COMBINING DIAERESIS}", "Zoë"),
        ("Пряжа", "Пряжа"),
        ("Νήμα", "Νήμα"),
        ("two\n lines\t", "two lines"),
        ("100\N{NO-BREAK SPACE}g", "100\N{NO-BREAK SPACE}g"),
        ("毛糸", MISSING * 2),
        ("נועה", MISSING * 4),
        # Two letters, each with marks that go with it: Unicode categories Mc and Mn.
        ("हिन्दी", MISSING * 3),
        ("a\N{NULL}b\N{RIGHT-TO-LEFT OVERRIDE}c\N{ZERO WIDTH JOINER}", "abc"),
        ("\ud800", MISSING),
        ("\N{BALL OF YARN}", MISSING),
        ("", ""),
    ],
)
def test_letters_without_a_glyph_are_shown_as_missing(text, printed):
    assert printable(text) == printed


@settings(deadline=None)
@given(
    st.text(max_size=200),
    st.floats(15, 400),
    st.integers(1, 3),
    st.sampled_from([ROMAN, ITALIC]),
)
def test_text_never_grows_out_of_its_width_or_lines(text, width, most_lines, font):
    fitted = fit(text, font, width, (12.0, 9.0, 6.0), most_lines)
    assert 1 <= len(fitted.lines) <= most_lines
    assert all(text_width(line, font, fitted.size) <= width for line in fitted.lines)


@given(st.text(st.characters(max_codepoint=0x17F), max_size=200), st.floats(20, 400))
def test_wrapping_loses_no_letter(text, width):
    words = printable(text)
    lines = wrap(words, ROMAN, 10, width)
    assert "".join(lines).replace(" ", "") == words.replace(" ", "")


def test_text_shrinks_before_it_is_cut():
    sizes = (20.0, 10.0)
    name = "Lichen on slate"
    room = text_width(name, ROMAN, 10.0) + 1
    assert fit(name, ROMAN, room, sizes).lines == (name,)
    assert fit(name, ROMAN, room, sizes).size == 10.0
    assert fit(name, ROMAN, room / 2, sizes).lines[0].endswith(ELLIPSIS)


def test_drawings_made_at_once_do_not_mix():
    """reportlab fonts are shared between documents; each must still get its own letters."""
    results: dict[int, bytes] = {}

    def draw(number: int) -> None:
        buffer = BytesIO()
        with drawing(buffer, (300, 100), title=str(number)) as canvas:
            canvas.setFont(ROMAN, 12)
            canvas.drawString(10, 50, f"Ж{chr(0x430 + number) * 20} {number}")
        results[number] = buffer.getvalue()

    threads = [threading.Thread(target=draw, args=(number,)) for number in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    for number, data in results.items():
        text = PdfReader(BytesIO(data)).pages[0].extract_text()
        assert text.strip() == f"Ж{chr(0x430 + number) * 20} {number}"
