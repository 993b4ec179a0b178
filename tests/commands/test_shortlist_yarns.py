"""`manage.py shortlist_yarns` for people and for scripts."""

import io
import json

import pytest
from django.core.management import CommandError, call_command

HEADER = "name,hex,spread,dye_style\n"
STASH = (
    HEADER + "Chalk,#f2efe6,,\nSoot,23201f,,solid\nMoss,#6b7a2f,3,\n"
    "Sea,#1f6f78,,tonal\nRust,#a4491f,,\nStraw,#e0c56a,,\n"
)


@pytest.fixture
def run(tmp_path):
    def run(text, *arguments):
        file = tmp_path / "stash.csv"
        file.write_bytes(text if isinstance(text, bytes) else text.encode())
        out = io.StringIO()
        call_command("shortlist_yarns", str(file), *arguments, stdout=out)
        return out.getvalue()

    return run


def test_json_lists_answers_with_yarns_and_reasons(run):
    result = json.loads(run(STASH, "--choose", "3", "--aim", "soft", "--lock", "Sea", "--json"))
    assert (result["aim"], result["choose"], result["candidates"]) == ("soft", 3, 6)
    assert result["locked"] == ["Sea"]
    best = result["answers"][0]
    assert {"name": "Sea", "hex": "#1f6f78"} in best["yarns"]
    assert 0 < best["score"] <= 1
    assert {"code", "yarns", "instead_of", "numbers", "words"} == set(best["reasons"][0])


def test_text_numbers_the_answers(run):
    text = run(STASH, "--choose", "4")
    assert text.startswith("1. ")
    assert "\n\n2. " in text
    assert "Compared with the first set:" in text


def test_blank_lines_byte_order_mark_and_column_order_do_not_matter(run):
    plain = run("name,hex\nA,#ffffff\nB,#000000\n", "--choose", "2", "--json")
    odd = run("\ufeffhex,name\r\n\r\n#ffffff, A\r\n000 ,B\r\n", "--choose", "2", "--json")
    assert json.loads(plain) == json.loads(odd)


PLAIN = "name,hex,spread,dye_style\nA,#ffffff,1.5,\nB,#000000,,speckled\nC,#c03030,,\n"


@pytest.mark.parametrize(
    "text",
    [
        PLAIN.replace(",", ";").replace("1.5", "1,5"),
        PLAIN.replace(",", "\t").replace("\n", "\r\n"),
        PLAIN.replace("\n", "\r"),
        PLAIN.replace("1.5", '"1,5"'),
        "\r\n\r\n" + PLAIN,
        PLAIN.replace("name,hex,spread,dye_style", "Name,HEX,Spread,Dye style"),
        PLAIN.replace("speckled", "Speckled"),
        PLAIN.replace("\n", ",,\n"),
    ],
    ids=[
        "semicolons and a decimal comma",
        "tabs",
        "old line ends",
        "decimal comma",
        "blank lines first",
        "capitals in the header",
        "a capital in a style",
        "empty columns at the end",
    ],
)
def test_what_spreadsheets_write_is_read_alike(run, text):
    wanted = ("--choose", "2", "--json")
    assert json.loads(run(text, *wanted)) == json.loads(run(PLAIN, *wanted))


def test_a_yarn_locked_twice_is_locked_once(run):
    answer = json.loads(run(STASH, "--choose", "2", *["--lock", "Sea"] * 3, "--json"))
    assert answer["locked"] == ["Sea"]


@pytest.mark.parametrize(
    ("text", "arguments", "message"),
    [
        ("", [], "line 1: there is no column 'name'."),
        ("name,colour\n", [], "line 1: column 'colour' is unknown; use name, hex, spread, dye_st"),
        ("name,hex,hex\n", [], "line 1: column 'hex' is twice; use"),
        ("name\nA\n", [], "line 1: there is no column 'hex'."),
        (HEADER + "A,#fff,,\nB,zebra,,\n", [], "line 3: 'zebra' is not a colour; write it like"),
        (HEADER + "A,#fff\n", [], "line 2: 2 cells under 4 columns."),
        ("name\nA,#fff\n", [], "line 1: there is no column 'hex'."),
        ("hex;name\n#fff\n", [], "line 2: 1 cell under 2 columns."),
        ("name,hex\nA,#fff,3\n", [], "line 2: 3 cells under 2 columns."),
        (HEADER + " ,#fff,,\n", [], "line 2: the yarn has no name."),
        (HEADER + '"A\nB",#fff,,\n', [], "line 3: 'A\\nB' has a sign in it that cannot be printed"),
        (HEADER + "A,#fff,wide,\n", [], "line 2: spread is 'wide'; give a number, such as 4.5."),
        (HEADER + "A,#fff,nan,\n", [], "line 2: A: spread is nan; it must be 0 to 100."),
        (HEADER + "A,#fff,-1,\n", [], "line 2: A: spread is -1; it must be 0 to 100."),
        (HEADER + "A,#fff,,tie-dye\n", [], "line 2: dye_style is 'tie-dye'; give one of solid,"),
        (HEADER + "A,#fff,,\nA,#000,,\n", [], "line 3: 'A' is already on line 2; give each its"),
        (HEADER + 'A,"#fff,,\n', [], "not CSV ("),
        (HEADER + "".join(f"{i},#fff,,\n" for i in range(41)), [], "line 42: "),
        (STASH, ["--choose", "7"], "6 candidates given; choosing 7 needs at least 7."),
        (STASH, ["--choose", "1"], "Cannot choose 1; choose 2 to 8 yarns."),
        (STASH, ["--choose", "many"], "--choose is 'many'; give a whole number, such as 5."),
        (STASH, ["--aim", "loud"], "--aim is 'loud'; give one of contrast, one-family, neutrals-"),
        (STASH, ["--lock", "Plum"], "--lock is 'Plum', which is not among the candidates."),
        (STASH, ["--rows", "tall"], "--rows is 'tall'; give a number, such as 40."),
        (STASH, ["--rows", "0"], "0 rows to 10 cm is not a gauge;"),
        (b"name,hex\n\xff\n", [], "not UTF-8 text, at byte 10."),
    ],
)
def test_bad_input_is_one_line_saying_what_and_where(run, text, arguments, message):
    with pytest.raises(CommandError) as refusal:
        run(text, *arguments)
    assert message in str(refusal.value)
    assert len(str(refusal.value).splitlines()) == 1
    assert refusal.value.returncode == 2


@pytest.mark.parametrize("name", ["missing.csv", "."])
def test_a_file_that_cannot_be_read_is_named(name, tmp_path):
    with pytest.raises(CommandError, match="cannot be read") as refusal:
        call_command("shortlist_yarns", str(tmp_path / name))
    assert refusal.value.returncode == 2


def test_a_huge_file_is_refused(run):
    with pytest.raises(CommandError, match="over 1 MB"):
        run("x" * 1_000_001)


def test_a_file_has_to_be_named():
    with pytest.raises(CommandError, match="Name a CSV file, or - for standard input") as refusal:
        call_command("shortlist_yarns")
    assert refusal.value.returncode == 2


def test_dash_reads_standard_input(run, monkeypatch):
    text = STASH
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(text.encode())))
    out = io.StringIO()
    call_command("shortlist_yarns", "-", stdout=out)
    assert out.getvalue() == run(text)
