"""Cells of a CSV that no program takes for formulas; the starts are of OWASP, CSV Injection."""

import pytest

from kal.spreadsheets import csv_response, neutral


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_words_that_would_be_a_formula_get_an_apostrophe(start):
    assert neutral(f"{start}1+1") == f"'{start}1+1"


@pytest.mark.parametrize(
    ("cell", "text"), [(-3.5, "-3.5"), (12, "12"), ("", ""), ("Ana", "Ana"), ("a=b", "a=b")]
)
def test_numbers_and_other_words_stay(cell, text):
    assert neutral(cell) == text


def test_commas_quotes_and_accents_survive():
    answer = csv_response("list", [["name", "says"], ["Åsa, of the quay", 'a "grey" one']])
    text = answer.content.decode("utf-8")
    assert text.startswith("\ufeffname,says\r\n")
    assert '"Åsa, of the quay","a ""grey"" one"' in text
    assert answer["Content-Disposition"] == 'attachment; filename="list.csv"'
