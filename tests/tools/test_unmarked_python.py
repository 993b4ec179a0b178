"""No sentence of the code that reaches a person is out of a translator's reach.

Every literal that reads like words is looked at, wherever it stands; what is left unmarked has to
be in `EXCEPT`, with the reason why no reader of a page, a mail or a file of theirs meets it.
"""

import ast
import re
from collections.abc import Iterator
from fnmatch import fnmatch
from pathlib import Path
from typing import Any

import pytest
from django import forms
from django.conf import settings
from django.db.models import Choices
from django.utils import translation
from django.utils.functional import Promise

from palettes.colour.errors import ColourError
from palettes.colour.refusal import Refusal
from schedule.pattern.errors import PatternError
from tests.tools.test_unmarked_words import HTML_TAG, SPOKEN

ROOT = Path(__file__).parent.parent.parent
MARKERS = {"_", "gettext", "gettext_lazy", "gettext_noop", "ngettext", "ngettext_lazy"}
# Calls whose every text is read by a person, even if it is one word.
SHOWN = {"ValidationError", "add_error", "success", "error", "info", "warning"}
# Exceptions that end in the log or on a terminal; those that people meet are marked where raised.
FOR_OPERATORS = {
    "AssertionError", "AttributeError", "ImproperlyConfigured", "LookupError", "OSError",
    "TimeoutError", "TypeError", "ValueError",
}  # fmt: skip
LOGGERS = {"logger", "log"}
WORDS = re.compile(r"[^\W\d_]{2,}[,;:.]? +(?:\S+ +)*?[^\W\d_]{2,}")
LETTERS = re.compile(r"[^\W\d_]{2,}")
# Values of HTTP headers, and SQL.
HEADER = re.compile(
    r"(private|inline|attachment|text/|application/)\S*[,;] |noopener |"
    r"(SELECT|INSERT|SET|RESET|BEGIN) "
)

# Files whose words no reader of a page meets, and why. A pattern may end in "*".
EXCEPT_FILES = {
    "*/management/*": "commands speak to whoever runs the site, as their documentation does",
    "*/migrations/*": "they stay as they were written",
    "kal/demo/*": "the demo's people write English",
    "kal/env.py": "a setting that cannot be read is told on a terminal or in the log",
    "kal/metrics.py": "read by programs that watch the site",
    "kal/views/watching.py": "read by programs that watch the site",
    "kal/logs.py": "the log",
    "kal/settings.py": "each language is called by its own name",
    "kal/terms.py": "the words of one English for another",
    "kal/records/backup.py": "told by the command that makes backups",
    "kal/records/restore.py": "told by the command that restores them",
    "kal/records/tables.py": "reasons kept beside the names of tables, and SQL",
    "kal/records/belongings.py": "raised for developers: a model lacks a rule",
    "kal/records/open_export.py": "a command's export, documented in English for everybody",
    "schedule/feeds.py": "raised for developers; the words of a feed come from its callers",
    "schedule/stamping.py": "operators of PDF",
    "schedule/notices/kinds.py": "raised for developers",
    "palettes/card/content.py": "raised for developers; the view says its own sentence",
}
# Single literals, as they stand in the code with {} for what is filled in, and why.
EXCEPT = {
    "showed a hidden {} again": "an act as it is stored; LOGGED marks every form of it",
    "dismissed reports of {}": "an act as it is stored; LOGGED marks every form of it",
    "reopened reports of {}": "an act as it is stored; LOGGED marks every form of it",
    "moved {} to another clue": "an act as it is stored; LOGGED marks every form of it",
    "an answer": "a part of such an act",
    **dict.fromkeys(
        (
            "email address",
            "e-mail address",
            "customer name",
            "billing name",
            "order number",
            "order no",
            "order id",
        ),
        "a heading as a shop may write it, read and never shown",
    ),
    **dict.fromkeys(
        (
            *("mm of needle", "stitches a minute", "{} in a ball", "g in a ball", "m in a ball"),
            *("of reserve", "to a division of the scale", "g from a test knit", "g of swatch"),
            *("g of scale division", "m in a gram"),
        ),
        "a part of a refusal of the pure packages that only developers meet",
    ),
    r"[-\N{MINUS SIGN}]\s*\d+(?:[.,]\d+)?\s*%": "a pattern",
    "Row {}; there are rows 1 to {}.": "the view gives only rows that the clue has",
}


def name_of(function: ast.AST) -> str:
    return getattr(function, "attr", getattr(function, "id", ""))


def texts(node: ast.Constant | ast.JoinedStr) -> str:
    if isinstance(node, ast.Constant):
        return node.value if isinstance(node.value, str) else ""
    return "".join(
        str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values
    )


def said(text: str) -> bool:
    """Whether a literal reads like words: markup and headers do not, what markup speaks does."""
    spoken = " ".join(found for found in SPOKEN.findall(text) if found != "{}")
    bare = HTML_TAG.sub(" ", text)
    return bool(not HEADER.match(text) and WORDS.search(bare)) or bool(LETTERS.search(spoken))


class Reader(ast.NodeVisitor):
    """Collects what is marked, and every literal that reads like words and stands unmarked."""

    def __init__(self, source: str, *, is_pure: bool = False) -> None:
        self.is_pure = is_pure
        self.marked: set[str] = set()
        self.unmarked: list[tuple[int, str]] = []
        self.is_shown = False
        self.visit(ast.parse(source))

    def visit_body(self, node: ast.Module | ast.ClassDef | ast.FunctionDef) -> None:
        """Visit all but docstrings, which also describe the fields above them."""
        for child in ast.iter_child_nodes(node):
            if not (isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant)):
                self.visit(child)

    visit_Module = visit_ClassDef = visit_body

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        # What a row is called on a terminal; pages show its fields.
        if node.name not in {"__str__", "__repr__"}:
            node.returns = None  # a type may be written as a text
            self.visit_body(node)

    def visit_Assert(self, node: ast.Assert) -> None:
        self.visit(node.test)

    def visit_Raise(self, node: ast.Raise) -> None:
        raised = name_of(node.exc.func) if isinstance(node.exc, ast.Call) else ""
        if not self.is_pure and raised not in FOR_OPERATORS:
            self.generic_visit(node)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value:
            self.visit(node.value)

    def visit_Call(self, node: ast.Call) -> None:
        name = name_of(node.func)
        if name in MARKERS:
            self.marked |= {texts(part) for part in node.args if isinstance(part, ast.Constant)}
            return
        owner = node.func.value if isinstance(node.func, ast.Attribute) else None
        if (isinstance(owner, ast.Name) and owner.id in LOGGERS) or name in {"cast", "compile"}:
            return
        before, self.is_shown = self.is_shown, self.is_shown or name in SHOWN
        # The first argument of `add_error` is a field's name, and a code is for programs.
        for part in node.args[1 if name == "add_error" else 0 :]:
            self.visit(part)
        for keyword in node.keywords:
            # Of a model's field; what a form shows of it is looked at below.
            if keyword.arg not in {"code", "help_text", "params"}:
                self.visit(keyword.value)
        self.is_shown = before

    def visit_Subscript(self, node: ast.Subscript) -> None:
        self.visit(node.value)  # a key is for programs

    def visit_Dict(self, node: ast.Dict) -> None:
        before, self.is_shown = self.is_shown, False
        for part in (*filter(None, node.keys), *node.values):
            self.visit(part)
        self.is_shown = before

    def visit_Constant(self, node: ast.Constant) -> None:
        self.look(node)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        self.look(node)
        for part in node.values:
            if isinstance(part, ast.FormattedValue):
                self.visit(part.value)

    def look(self, node: ast.Constant | ast.JoinedStr) -> None:
        text = texts(node)
        shown = self.is_shown and LETTERS.search(text.replace("{}", ""))
        if said(text) or shown:
            self.unmarked.append((node.lineno, text))


SOURCES = {
    str(path.relative_to(ROOT)): path.read_text(encoding="utf-8")
    for folder in ("kal", "palettes", "schedule")
    for path in sorted((ROOT / folder).rglob("*.py"))
}


def is_pure(name: str) -> bool:
    return name.startswith(("palettes/colour/", "schedule/pattern/"))


def unmarked(sources: dict[str, str]) -> dict[str, list[tuple[int, str]]]:
    """Return by file the literals that read like words and are marked nowhere."""
    readers = {name: Reader(source, is_pure=is_pure(name)) for name, source in sources.items()}
    marked = {text for reader in readers.values() for text in reader.marked}
    found = {
        name: [(line, text) for line, text in reader.unmarked if text not in marked]
        for name, reader in readers.items()
    }
    return {name: lines for name, lines in found.items() if lines}


def is_excepted(name: str) -> bool:
    return any(fnmatch(name, pattern) for pattern in EXCEPT_FILES)


def test_every_sentence_of_the_code_is_marked():
    left = [
        f"{name}:{line}: {text}"
        for name, lines in unmarked(SOURCES).items()
        for line, text in lines
        if not is_excepted(name) and text not in EXCEPT
    ]
    assert left == [], "wrap it in gettext, or say in EXCEPT why nobody reads it"


def test_every_exception_is_still_needed():
    found = unmarked(SOURCES)
    assert [
        pattern for pattern in EXCEPT_FILES if not any(fnmatch(name, pattern) for name in found)
    ] == []
    texts_found = {text for lines in found.values() for _line, text in lines}
    assert set(EXCEPT) - texts_found == set()


class Unwrap(ast.NodeTransformer):
    """Takes every marker off its text."""

    def visit_Call(self, node: ast.Call) -> ast.AST:
        if name_of(node.func) in MARKERS and isinstance(node.args[0], ast.Constant):
            return ast.Tuple([part for part in node.args if isinstance(part, ast.Constant)])
        return self.generic_visit(node)


def test_a_sentence_without_its_marker_is_found_wherever_it_stands():
    """Each marker of the code is taken off, and each sentence under one is to be missed."""
    bare = {
        name: ast.unparse(Unwrap().visit(ast.parse(source))) for name, source in SOURCES.items()
    }
    found = unmarked(bare)
    for name, source in SOURCES.items():
        sentences = {text for text in Reader(source, is_pure=is_pure(name)).marked if said(text)}
        assert sentences - {text for _line, text in found.get(name, [])} == set(), name


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ('messages.success(request, "Saved")', ["Saved"]),
        ('messages.success(request, _("Saved"))', []),
        ('form.add_error("photo", f"{name} is no photo")', ["{} is no photo"]),
        ('raise ValidationError("Wrong", code="wrong")', ["Wrong"]),
        (
            'raise PaletteFull("All of your colours are chosen.")',
            ["All of your colours are chosen."],
        ),
        ('raise ValueError("Only a developer reads this.")', []),
        ('context = {"lede": "Yarns you may still add"}', ["Yarns you may still add"]),
        ('"""What this does."""\nlogger.warning("The worker is late: %s", late)', []),
        (
            """html = '<p aria-label="Table" class="wide table">'""",
            ['<p aria-label="Table" class="wide table">'],
        ),
        ("""headers = {"Cache-Control": "private, no-store"}""", []),
        ("""cursor.execute("SELECT one FROM another")""", []),
        ("""said = "Select one of them" """, ["Select one of them"]),
    ],
)
def test_the_check_sees_what_it_should(source, found):
    assert [text for _line, text in Reader(source).unmarked] == found


def forms_of_the_site() -> Iterator[Any]:
    waiting: list[Any] = [forms.BaseForm]
    while waiting:
        form = waiting.pop()
        waiting += form.__subclasses__()
        if form.__module__.partition(".")[0] in {"kal", "palettes", "schedule"}:
            yield form


def words_of_forms() -> dict[str, object]:
    import kal.urls  # noqa: F401  every view with its forms

    return {
        f"{form.__qualname__}.{name}, {place}": text
        for form in forms_of_the_site()
        for name, field in form.base_fields.items()
        for place, text in enumerate(
            (field.label, field.help_text, *(label for _value, label in choices_of(field)))
        )
    }


def test_whatever_a_form_says_of_a_field_waits_for_its_reader():
    """A text made at import would stay in the language of whoever started the site."""
    with translation.override("de"):
        german = words_of_forms()
    fixed = {
        where: text
        for where, text in words_of_forms().items()
        if isinstance(text, str) and LETTERS.search(text) and text == german[where]
    }
    assert set(fixed.values()) - {name for _code, name in settings.LANGUAGES} == set()


def choices_of(field: forms.Field) -> list[tuple[object, object]]:
    if isinstance(field, forms.ModelChoiceField):
        return []
    return [choice for choice in getattr(field, "choices", ()) if isinstance(choice, tuple)]


def choices_of_models() -> Iterator[type[Choices]]:
    for child in Choices.__subclasses__():
        for chosen in child.__subclasses__():
            if chosen.__module__.partition(".")[0] in {"kal", "palettes", "schedule"}:
                yield chosen


def test_every_choice_of_a_model_is_named_in_the_readers_language():
    bare = [
        member.label
        for chosen in choices_of_models()
        for member in chosen
        if not isinstance(member._label_, Promise)
    ]
    assert bare == ["PDF"]


def test_only_refusals_that_wait_for_their_reader_are_shown():
    """What the pure packages refuse in English alone is caught by no page to be shown."""
    plain = {
        refusal.__name__
        for base in (ColourError, PatternError)
        for refusal in (base, *base.__subclasses__())
        if not issubclass(refusal, Refusal)
    }
    shown = [
        f"{name}: {ast.unparse(handler.type)}"
        for name, source in SOURCES.items()
        if "/management/" not in name
        for handler in ast.walk(ast.parse(source))
        if isinstance(handler, ast.ExceptHandler) and handler.type
        if any(name_of(part) in plain for part in ast.walk(handler.type))
        if f"str({handler.name})" in ast.unparse(handler)
    ]
    assert shown == []
