"""Every sentence of the pure packages lands in the message files without further work."""

import ast
import shutil
import subprocess
from pathlib import Path

import pytest

from palettes.colour import light_wording, sentences, shortlist_wording, wording
from palettes.colour.phrases import Plural
from schedule.pattern import advice, pace
from schedule.pattern import wording as pattern_wording

ROOT = Path(__file__).parent.parent.parent
MODULES = (light_wording, sentences, shortlist_wording, wording, advice, pace, pattern_wording)
# Those that Django's makemessages gives to xgettext beside its own.
KEYWORDS = ("gettext_noop", "gettext_lazy", "ngettext_lazy:1,2")


def phrases():
    yield from (part for template in sentences.TEMPLATES.values() for part in template[:3])
    yield from shortlist_wording.TEMPLATES.values()
    for table in (
        shortlist_wording.AIMS,
        wording.VERDICTS,
        wording.GRADES,
        wording.GRADE_NAMES,
        wording.SCHEMES,
        wording.LIGHTNESS,
        wording.FAMILIES,
        advice.WORDS,
        pace.WORDS,
        light_wording.REFUSALS,
        pattern_wording.REFUSALS,
        pattern_wording.PROBLEMS,
    ):
        yield from table.values()
    yield from (wording.TASTE_NOTE, *wording.NEUTRAL_SHADES)


@pytest.mark.skipif(shutil.which("xgettext") is None, reason="GNU gettext is not installed")
def test_every_phrase_is_found_by_makemessages():
    sources = [str(module.__file__) for module in MODULES]
    keywords = [f"--keyword={keyword}" for keyword in KEYWORDS]
    command = ["xgettext", "--language=Python", "--from-code=UTF-8", "--no-wrap", *keywords, "-o-"]
    catalogue = subprocess.run([*command, *sources], check=True, capture_output=True, text=True)
    found = {
        ast.literal_eval(line.partition(" ")[2])
        for line in catalogue.stdout.splitlines()
        if line.startswith(("msgid ", "msgid_plural "))
    }
    for phrase in phrases():
        texts = (phrase.one, phrase.many) if isinstance(phrase, Plural) else (phrase,)
        assert found.issuperset(texts), texts
