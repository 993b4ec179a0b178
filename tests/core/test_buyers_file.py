"""Reading a shop's list of buyers: good rows, named rows, and files that cannot be read."""

import csv
import random
from contextlib import suppress
from io import StringIO

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kal.buyers_file import MOST_ROWS, BadBuyersFile, Buyer, read_buyers_file

ADA, BO = Buyer("ada@x.example", "Ada L", "1001"), Buyer("bo@x.example", "", "1002")


@pytest.mark.parametrize(
    "text",
    [
        "email,name,order\nada@x.example,Ada L,1001\nbo@x.example,,1002\n",
        "Order Number;E-Mail;Name\r\n1001;Ada@X.example;Ada  L\r\n1002;bo@x.example;\r\n",
        "\ufeffMail\tCustomer name\tOrder ID\nada@x.example\tAda L\t1001\nbo@x.example\t\t1002",
        "ada@x.example,Ada L,1001\nbo@x.example,,1002",
        'name,paid,email,reference\n"Ada L","1,50",ada@x.example,1001\n,2,bo@x.example,1002\n\n',
    ],
    ids=["commas", "semicolons, any order", "tabs and a byte-order mark", "no heading", "quoted"],
)
def test_shops_write_their_lists_in_many_ways(text):
    found = read_buyers_file(text.encode())
    assert found.buyers == [ADA, BO]
    assert found.faults == []


def test_each_bad_row_is_named_by_its_line_and_the_good_ones_stand():
    text = (
        "email,name,order\nada@x.example,Ada L,1001\nnobody,Nobody,3\n,Nameless,4\n"
        f"Ada@x.example,Ada again,5\nbo@x.example,,1002\nlong@x.example,{'n' * 81},6\n"
        f"ref@x.example,,{'r' * 61}\n"
    )
    found = read_buyers_file(text.encode())
    assert found.buyers == [ADA, BO]
    assert found.faults == [
        "Row 3: “nobody” is not a mail address.",
        "Row 4: there is no mail address.",
        "Row 5: ada@x.example stands in row 2 already; it gets one place.",
        "Row 7: the name is longer than 80 letters.",
        "Row 8: the order reference is longer than 60 letters.",
    ]


def test_a_row_is_counted_by_the_line_it_begins_on():
    text = 'email,name\nada@x.example,"Ada\nof the hill"\nwrong,x\n'
    assert read_buyers_file(text.encode()).faults == ["Row 4: “wrong” is not a mail address."]


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "The file is empty"),
        (b"\xef\xbb\xbf \r\n", "The file is empty"),
        ("email\nzo\xeb@x.example".encode("latin-1"), "Line 2 is not UTF-8 text; save the file"),
        ("email\nada@x.example".encode("utf-16"), "The file is UTF-16 text; save it as"),
        (b"email\nada\0@x.example", "This is no text file"),
        (b"\x89PNG\r\n\x1a\n", "Line 1 is not UTF-8 text"),
        (b"shop,town\nDye shed,Porto", "No column is called"),
        (b"email,name\n", "names its columns but no buyer"),
        (b"email\n" + b"a@x.example\n" * (MOST_ROWS + 1), f"more than {MOST_ROWS} rows"),
        (b'email\n"' + b"x" * 200_000, "Row 2 is longer than any row should be"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_file_that_cannot_be_read_is_refused_in_one_sentence(content, sentence):
    with pytest.raises(BadBuyersFile, match=sentence):
        read_buyers_file(content)


@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused_in_words(content):
    with suppress(BadBuyersFile):
        found = read_buyers_file(content)
        assert found.buyers or found.faults


@given(st.lists(st.tuples(st.integers(0, 30), st.text("abc ,;\"'=é", max_size=8)), min_size=1))
def test_what_a_csv_writer_wrote_is_read_back(rows):
    stream = StringIO()
    lines = [(f"p{number}@x.example", name, "") for number, name in rows]
    csv.writer(stream).writerows([("email", "name", "order"), *lines])
    found = read_buyers_file(stream.getvalue().encode())
    first = {email: " ".join(name.split()) for email, name, _ in reversed(lines)}
    assert {buyer.email: buyer.name for buyer in found.buyers} == first
    assert len(found.buyers) + len(found.faults) == len(rows)


def test_a_whole_crowd_is_read():
    dice = random.Random(5)
    lines = [f"p{n}@x.example,Person {dice.random()},{n}" for n in range(MOST_ROWS)]
    assert len(read_buyers_file("\n".join(["email,name,order", *lines]).encode()).buyers) == 20_000
