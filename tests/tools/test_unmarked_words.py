"""No word of a template, and no sentence of the code, is out of a translator's reach."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent
TEMPLATES = sorted(path for path in (ROOT / "templates").rglob("*.*") if path.stat().st_size)
# Symbols, formats and names, which are the same in every language.
SAME_EVERYWHERE = re.compile(
    r"\?code=|\b(L|ΔL|ΔE|A\d|PDF|CSV|JSON|CIEDE\d+|UTC|mm|cm|g|m|oz|yd|[A-H])\b"
)
NO_WORDS = re.compile(
    r"\{% (comment|blocktrans\w*) .*?\{% end\1 %\}|\{% (comment|blocktranslate) %\}.*?\{% end\2 %\}"
    r"|\{#.*?#\}|<(script|style)\b.*?</\3>|<!--.*?-->|<!doctype[^>]*>",
    re.DOTALL | re.IGNORECASE,
)
TEMPLATE_TAG = re.compile(r"\{%.*?%\}|\{\{.*?\}\}", re.DOTALL)
SPOKEN = re.compile(r'\b(?:aria-label|title|alt|placeholder|hx-confirm)="([^"]*)"')
HTML_TAG = re.compile(r"</?[a-zA-Z][^>]*>")
ENTITY = re.compile(r"&#?\w+;")
WORD = re.compile(r"[^\W\d_]{2,}")
# `{{ name|default:"Nobody" }}` hides a word inside a tag; `default:"all"` is for a program.
SAID = re.compile(r"[A-Z]|\s|^s$")
WORD_IN_FILTER = re.compile(r"""\|(?:default|default_if_none|yesno|pluralize|join):(["'])(.*?)\1""")


def unmarked_words(source: str) -> list[str]:
    """Return the texts of a template, and of its spoken attributes, that no tag translates."""
    source = NO_WORDS.sub("", source)
    hidden = [found[2] for found in WORD_IN_FILTER.finditer(source) if SAID.search(found[2])]
    bare = TEMPLATE_TAG.sub("\0", source)
    texts = [*SPOKEN.findall(bare), *HTML_TAG.split(bare), *hidden]
    return [
        " ".join(text.replace("\0", "…").split())
        for text in texts
        if WORD.search(SAME_EVERYWHERE.sub("", ENTITY.sub("", text.replace("\0", " "))))
    ]


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_word_of_a_template_is_marked(path):
    assert unmarked_words(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ("<p>Sign in</p>", ["Sign in"]),
        ('<p>{% translate "Sign in" %}</p>', []),
        ("<p>{{ count }} balls</p>", ["… balls"]),
        ('<img alt="A shawl">', ["A shawl"]),
        ("""<img alt="{% translate 'A shawl' %}">""", []),
        ("{% blocktranslate %}Clue {{ number }}{% endblocktranslate %}: L* {{ l }}", []),
        ('{{ title|default:"Untitled" }}', ["Untitled"]),
        ('{{ n }} ball{{ n|pluralize:"s" }}', ["… ball…"]),
        ("{# A note #}<!-- and another -->&nbsp;·", []),
    ],
)
def test_the_check_sees_what_it_should(source, found):
    assert unmarked_words(source) == found
