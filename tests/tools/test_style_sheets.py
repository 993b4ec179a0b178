"""Style sheets hold for every language: they say nothing, and know no left and right."""

import re
from pathlib import Path

import pytest

SHEETS = sorted((Path(__file__).resolve().parents[2] / "static" / "css").glob("*.css"))

WORDS = re.compile(r"\bcontent:\s*([\"'])(?:(?!\1).)*[^\W\d_](?:(?!\1).)*\1")
# CSS Logical Properties and Values Level 1 names what turns with the direction; these do not.
SIDES = re.compile(
    r"(?<![\w-])(?:(?:margin|padding|border|scroll-margin|scroll-padding)-)?(?:left|right)(?:-\w+)?\s*:"
    r"|(?<![\w-])(?:text-align|float|clear)\s*:\s*(?:left|right)\b"
)
_VALUE = r"[^\s;}]+"
FOUR = re.compile(
    rf"(?<![\w-])(?:margin|padding|inset):\s*{_VALUE} ({_VALUE}) {_VALUE} ({_VALUE})\s*[;}}]"
)


def faults_in(css: str) -> list[str]:
    lopsided = [found[0] for found in FOUR.finditer(css) if found[1] != found[2]]
    return [found[0] for rule in (WORDS, SIDES) for found in rule.finditer(css)] + lopsided


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_a_style_sheet_has_no_words_and_no_left_or_right(sheet):
    assert faults_in(sheet.read_text()) == []


@pytest.mark.parametrize(
    "rule",
    [
        'content: "Try: "',
        "content: 'a'",
        "margin-left: 1rem",
        "{left:0}",
        "border-right-width: 1px",
        "float: left",
        "text-align: right",
        "padding: 0 1rem 0 0;",
    ],
)
def test_such_a_rule_is_found(rule):
    assert len(faults_in(rule)) == 1


def test_rules_that_turn_are_none():
    css = 'content: "→ "; inset-inline-start: 0; margin: 0 1rem 2rem 1rem; text-align: start;'
    assert faults_in(css) == []
