"""The clues' words: Markdown from fixtures/demo, with the pattern's own numbers filled in."""

import re
from itertools import pairwise
from pathlib import Path
from string import Template

from kal.demo.pattern import Pattern

FOLDER = Path(__file__).resolve().parent.parent.parent / "fixtures" / "demo"


def clue_text(name: str, pattern: Pattern, number: int) -> str:
    """Return the Markdown of clue `number`; KeyError when it asks for a number nobody reckons."""
    template = Template((FOLDER / f"{name}-{number}.md").read_text(encoding="utf-8"))
    return template.substitute(numbers_of(pattern, number))


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
