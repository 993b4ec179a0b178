"""Join cards, looked at as a phone and a printer would: drawn by PDFium, read by ZXing.

QR codes are those of ISO/IEC 18004; neither reader has any code in common with what draws them.
"""

from io import BytesIO
from itertools import product

import pypdfium2
import pytest
import zxingcpp
from pypdf import PdfReader

from kal.paper.join_cards import LAYOUTS, CardWords, JoinCard, join_cards_pdf
from kal.paper.sheets import Paper

PAGE = "https://knit.example/k/lamps-along-the-quay/join/"
WORDS = CardWords(
    "Lamps along the Quay", PAGE.partition("://")[2], "For one person, until 3 March 2027, 18:00."
)
DOTS_PER_INCH = 200  # coarser than any office printer


def cards(count: int) -> list[JoinCard]:
    codes = [f"ACD{n:05d}".replace("0", "Q") for n in range(count)]
    return [JoinCard(f"{code[:4]}-{code[4:]}", f"{PAGE}?code={code}") for code in codes]


def seen(data: bytes) -> list[list[str]]:
    """Return what the QR codes of each sheet say."""
    sheets = []
    for page in pypdfium2.PdfDocument(data):
        image = page.render(scale=DOTS_PER_INCH / 72).to_pil().convert("L")
        sheets.append([found.text for found in zxingcpp.read_barcodes(image)])
    return sheets


@pytest.mark.parametrize(("paper", "up"), list(product(Paper, LAYOUTS)))
def test_every_code_is_read_back_from_the_printed_sheet(paper, up):
    printed = cards(13)
    data = join_cards_pdf(printed, WORDS, paper, LAYOUTS[up])
    on_sheet = int(up)
    sheets = seen(data)
    assert len(sheets) == -(-13 // on_sheet)
    for number, found in enumerate(sheets):
        wanted = printed[number * on_sheet : (number + 1) * on_sheet]
        assert sorted(found) == sorted(card.address for card in wanted)


def test_each_card_says_its_code_and_where_to_type_it():
    (page,) = PdfReader(BytesIO(join_cards_pdf(cards(2), WORDS, Paper.A4, (2, 5)))).pages
    text = " ".join(page.extract_text().split())
    assert text.count("Lamps along the Quay") == 2
    assert "ACDQ-QQQQ" in text
    assert "ACDQ-QQQ1" in text
    assert text.count("For one person, until 3 March 2027, 18:00.") == 2
    assert text.replace(" ", "").count(WORDS.join_page) == 2


def test_a_modules_side_is_large_enough_for_a_phone():
    """Common practice asks for 0.4 mm and more; the longest address makes the smallest module."""
    longest = JoinCard("ACDE-FGHJ", f"https://a-rather-long-host.example/k/{'x' * 60}/join/?code=A")
    (page,) = pypdfium2.PdfDocument(join_cards_pdf([longest], WORDS, Paper.LETTER, (2, 5)))
    (found,) = zxingcpp.read_barcodes(page.render(scale=DOTS_PER_INCH / 72).to_pil().convert("L"))
    corner = found.position
    side_mm = (corner.top_right.x - corner.top_left.x) / DOTS_PER_INCH * 25.4
    modules = 17 + 4 * 7  # version 7 holds 122 bytes at level M (ISO/IEC 18004, table 7)
    assert side_mm / modules >= 0.4


def test_a_title_that_no_card_has_room_for_is_cut_short():
    long = CardWords("Mystery " * 40, WORDS.join_page, WORDS.note)
    data = join_cards_pdf(cards(1), long, Paper.A4, (2, 5))
    assert "…" in PdfReader(BytesIO(data)).pages[0].extract_text()
    assert seen(data) == [[cards(1)[0].address]]


def test_equal_cards_give_equal_bytes_and_every_font_is_embedded():
    data = join_cards_pdf(cards(3), WORDS, Paper.A4, (2, 5))
    assert data == join_cards_pdf(cards(3), WORDS, Paper.A4, (2, 5))
    resources = PdfReader(BytesIO(data)).pages[0]["/Resources"]
    fonts = [font.get_object() for font in resources["/Font"].values()]  # type: ignore[index]
    assert fonts
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts)
