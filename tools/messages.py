#!/usr/bin/env python3
"""Message files: `extract` what is marked (needs GNU gettext), and `compile` what is translated.

Compiling needs nothing but Python, and what comes out is kept in the repository beside its source,
so a fresh machine needs no gettext to speak every language. docs/languages.md says how a language
is added.
"""

import argparse
import ast
import json
import re
import struct
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from kal.terms import american, british  # noqa: E402

LOCALE = ROOT / "locale"
# The languages that people translate, and those that are made from what the source says.
TRANSLATED = ("de",)
DERIVED: dict[str, Callable[[str], str]] = {"en_001": str, "en_GB": british, "en_US": american}
# What no reader of the site ever sees.
IGNORED = ("tests", "tools", "benchmarks", "data", "deploy", ".venv")
MAGIC = 0x950412DE  # GNU gettext manual, "The Format of GNU MO Files"
CONTEXT, PLURAL = "\x04", "\x00"
HEADER = (
    "Language: {locale}\nMIME-Version: 1.0\nContent-Type: text/plain; charset=UTF-8\n"
    "Content-Transfer-Encoding: 8bit\nPlural-Forms: nplurals=2; plural=(n != 1);\n"
)
# gettext writes these anew each time; the header is that of HEADER, and no change by itself.
RESTLESS = re.compile(r'^"(?:Report-Msgid-Bugs-To|POT-Creation-Date):.*"\n', re.MULTILINE)
LINE = re.compile(r'(msgctxt|msgid_plural|msgid|msgstr(?:\[\d\])?) (".*")')


@dataclass
class Message:
    """One message of a PO file; `said` has one form, or one for each number."""

    msgid: str = ""
    context: str = ""
    plural: str = ""
    said: list[str] = field(default_factory=list)
    flags: set[str] = field(default_factory=set)

    @property
    def is_translated(self) -> bool:
        return bool(self.said) and all(self.said) and "fuzzy" not in self.flags

    @property
    def key(self) -> str:
        """The name under which a MO file keeps it."""
        named = f"{self.context}{CONTEXT}{self.msgid}" if self.context else self.msgid
        return f"{named}{PLURAL}{self.plural}" if self.plural else named


def read_po(path: Path) -> Iterator[Message]:
    """Yield the messages of a PO file, the header (whose msgid is empty) first."""
    for paragraph in path.read_text(encoding="utf-8").split("\n\n"):
        lines = [line for line in paragraph.splitlines() if not line.startswith("#~")]
        if any(line.startswith("msgid") for line in lines):
            yield _read_message(lines)


def _read_message(lines: list[str]) -> Message:
    message, parts = Message(), dict[str, str]()
    name = ""
    for line in lines:
        if line.startswith("#,"):
            message.flags |= {flag.strip() for flag in line[2:].split(",")}
        elif found := LINE.fullmatch(line):
            name = found[1]
            parts[name] = ast.literal_eval(found[2])
        elif line.startswith('"'):
            parts[name] += ast.literal_eval(line)
    message.msgid, message.context = parts.pop("msgid"), parts.pop("msgctxt", "")
    message.plural = parts.pop("msgid_plural", "")
    message.said = [parts[form] for form in sorted(parts)]
    return message


def mo_bytes(messages: list[Message]) -> bytes:
    """Return the MO file of the messages that are translated; equal messages give equal bytes."""
    rows = sorted(
        (message.key.encode(), PLURAL.join(message.said).encode())
        for message in messages
        if message.is_translated
    )
    count, header = len(rows), 28
    texts, offset = header + 16 * count, header + 16 * count
    tables: list[list[int]] = [[], []]
    body = b""
    for column in (0, 1):
        for row in rows:
            tables[column] += [len(row[column]), offset]
            body += row[column] + b"\0"
            offset = texts + len(body)
    numbers = [MAGIC, 0, count, header, header + 8 * count, 0, 0, *tables[0], *tables[1]]
    return struct.pack(f"<{len(numbers)}I", *numbers) + body


def po_of(locale: str) -> Path:
    return LOCALE / locale / "LC_MESSAGES" / "django.po"


def compile_all() -> None:
    for locale in (*TRANSLATED, *DERIVED):
        path = po_of(locale)
        path.with_suffix(".mo").write_bytes(mo_bytes(list(read_po(path))))


def extract() -> None:
    """Bring the PO file of every language up to what the sources say."""
    options = ["--no-wrap", "--add-location=file", "--no-obsolete"]
    options += [f"--locale={locale}" for locale in TRANSLATED]
    options += [f"--ignore={name}" for name in IGNORED]
    command = [sys.executable, "manage.py", "makemessages", *options]
    subprocess.run(command, check=True, cwd=ROOT)
    for locale in TRANSLATED:
        path = po_of(locale)
        path.write_text(RESTLESS.sub("", path.read_text(encoding="utf-8")), encoding="utf-8")
    for locale in DERIVED:
        po_of(locale).parent.mkdir(parents=True, exist_ok=True)
        po_of(locale).write_text(derived(locale), encoding="utf-8")


def derived(locale: str) -> str:
    """Return the PO file of a variant of English: every message that it says otherwise."""
    say = DERIVED[locale]
    paragraphs = [_paragraph(Message(said=[HEADER.format(locale=locale)]))]
    for message in read_po(po_of(TRANSLATED[0])):
        forms = [message.msgid, *filter(None, [message.plural])]
        message.said = [say(form) for form in forms]
        if message.msgid and message.said != forms:
            paragraphs.append(_paragraph(message))
    return "\n".join(paragraphs)


def _paragraph(message: Message) -> str:
    lines = [f"msgctxt {_quoted(message.context)}"] if message.context else []
    lines.append(f"msgid {_quoted(message.msgid)}")
    if message.plural:
        lines.append(f"msgid_plural {_quoted(message.plural)}")
        lines += [f"msgstr[{i}] {_quoted(form)}" for i, form in enumerate(message.said)]
    else:
        lines.append(f"msgstr {_quoted(message.said[0])}")
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("what", choices=("extract", "compile"))
    extract() if parser.parse_args().what == "extract" else compile_all()


if __name__ == "__main__":
    main()
