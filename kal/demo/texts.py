"""The clues' words: Markdown from fixtures/demo, with the pattern's own numbers filled in.

A line `@section Title` begins a section and `@way Name | technique` a way of it; `@promises` says
that it offers an easier way, and `@counted` that the clue's rows belong to it.
"""

import re
from itertools import pairwise
from pathlib import Path
from string import Template

from kal.demo.pattern import Pattern, Ridge
from schedule.drafts import PartDraft, SectionDraft, WayDraft

FOLDER = Path(__file__).resolve().parent.parent.parent / "fixtures" / "demo"


def marked_text(name: str, pattern: Pattern, number: int) -> str:
    """Return the text of clue `number`; KeyError when it asks for a number nobody reckons."""
    template = Template((FOLDER / f"{name}-{number}.md").read_text(encoding="utf-8"))
    return template.substitute(numbers_of(pattern, number))


def clue_text(name: str, pattern: Pattern, number: int) -> str:
    """Return the whole of clue `number` as one Markdown text, its sections under headings."""
    text = marked_text(name, pattern, number)
    text = re.sub(r"^@section (.+)$", r"### \1\n", text, flags=re.MULTILINE)
    text = re.sub(r"^@way (.+?) \|.*$", r"\n**\1.**\n", text, flags=re.MULTILINE)
    return re.sub(r"^@\w+\n", "", text, flags=re.MULTILINE)


def opening_and_sections(
    name: str, pattern: Pattern, number: int
) -> tuple[str, tuple[SectionDraft, ...]]:
    """Return clue `number` as it is stored: what comes before its sections, and these."""
    opening, *rest = re.split(r"^@section ", marked_text(name, pattern, number), flags=re.MULTILINE)
    return opening.rstrip(), tuple(_section(text, pattern, number) for text in rest)


def _section(text: str, pattern: Pattern, number: int) -> SectionDraft:
    title, _, body = text.partition("\n")
    marks = set(re.findall(r"^@(promises|counted)$", body, flags=re.MULTILINE))
    body = re.sub(r"^@(promises|counted)\n", "", body, flags=re.MULTILINE)
    alone, *ways = re.split(r"^@way ", body, flags=re.MULTILINE)
    return SectionDraft(
        title=title,
        promises_choice="promises" in marks,
        ways=tuple(map(_way, ways)) or (WayDraft(alone.strip()),),
        parts=parts_of(pattern, number) if "counted" in marks else (),
    )


def _way(text: str) -> WayDraft:
    heading, _, body = text.partition("\n")
    name, _, technique = heading.partition(" | ")
    return WayDraft(body.strip(), name, technique)


def parts_of(pattern: Pattern, number: int) -> tuple[PartDraft, ...]:
    """Return the rows of clue `number` as numbers: two of each ridge, which grows on the first."""
    start, end = list(pairwise(pattern.counts))[number - 1]
    section = pattern.sections[number - 1]
    rows = PartDraft(
        start=start,
        name=section.title,
        rows=2 * len(section.ridges),
        changes=(pattern.increase, 0),
        letters=striped(section.repeat),
        states_end=end,
    )
    first, last = number == 1, number == len(pattern.sections)
    cast_on = PartDraft(start, "cast-on", letters=section.repeat[0].letter)
    bind_off = PartDraft(end, "bind-off", letters=section.ridges[-1].letter)
    return (*([cast_on] if first else []), rows, *([bind_off] if last else []))


def striped(repeat: tuple[Ridge, ...]) -> str:
    """Return the letter of each row of the ridges, or the one letter of them all."""
    letters = "".join(2 * ridge.letter for ridge in repeat)
    return letters if len(set(letters)) > 1 else letters[0]


def numbers_of(pattern: Pattern, number: int) -> dict[str, str]:
    """Return what the text of a clue may name, each as it is written there."""
    start, end = list(pairwise(pattern.counts))[number - 1]
    section = pattern.sections[number - 1]
    return {
        "start": str(start),
        "end": str(end),
        "half": str(pattern.panel(end)),
        "times": str(section.times if section.times > 1 else len(section.ridges)),
        "ridges": str(len(section.ridges)),
        "rows": str(2 * len(section.ridges)),
        "checkpoints": ", ".join(map(str, pattern.checkpoints(number))),
        "grams": in_words(pattern.grams(number)),
    }


def in_words(grams: dict[str, float]) -> str:
    """Return 'about 11 g of A and 7 g of B'."""
    parts = [f"{round(weight)} g of {letter}" for letter, weight in grams.items()]
    return f"about {' and '.join(parts)}"


def without_marks(markdown: str) -> str:
    """Return the text for paper, without the Markdown marks that the clues use."""
    return re.sub(r"^#+ |(?<!\\)\*+|\\(?=\*)", "", markdown, flags=re.MULTILINE)
