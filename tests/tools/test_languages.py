"""The message files: whole, in step with the sources, and compiled."""

import gettext
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.utils.formats import get_format
from django.utils.translation import to_locale

from kal.terms import american, both_names, british
from tools import messages

ROOT = Path(__file__).parent.parent.parent
LOCALES = (*messages.TRANSLATED, *messages.DERIVED)
PLACES = re.compile(r"%\(\w+\)(?:\.\d+)?[a-z]|\{\w*\}|%%")
ADDRESSES = re.compile(r'href="[^"]*"|class="[^"]*"')
# Formats that programs read, which are the same everywhere.
FOR_PROGRAMS = re.compile(r"[Y\\]-|^[YmdHiscOUZ:]+$")


def catalogue(locale):
    return list(messages.read_po(messages.po_of(locale)))


def test_there_is_a_catalogue_for_every_language():
    named = {to_locale(code) for code, _name in settings.LANGUAGES}
    assert named == set(LOCALES)


@pytest.mark.parametrize("locale", messages.TRANSLATED)
def test_everything_is_translated(locale):
    bare = [message.msgid for message in catalogue(locale) if not message.is_translated]
    assert bare == []


@pytest.mark.parametrize("locale", LOCALES)
def test_places_and_addresses_are_those_of_the_source(locale):
    for message in catalogue(locale)[1:]:
        sources = [message.msgid, *filter(None, [message.plural])]
        for form in message.said:
            places = sorted(PLACES.findall(form))
            # The form for one may say the number in a word, in either language.
            expected = [sorted(PLACES.findall(source)) for source in sources]
            assert set(places) <= set(expected[-1]) | set(expected[0]), form
            if not message.plural:
                assert set(places) == set(expected[0]), form
            tags = sorted(ADDRESSES.findall(form))
            assert tags in [sorted(ADDRESSES.findall(source)) for source in sources], form


@pytest.mark.parametrize("locale", LOCALES)
def test_what_is_compiled_is_what_is_written(locale):
    path = messages.po_of(locale)
    assert path.with_suffix(".mo").read_bytes() == messages.mo_bytes(catalogue(locale)), (
        "run tools/messages.py compile"
    )


@pytest.mark.skipif(shutil.which("msgfmt") is None, reason="GNU gettext is not installed")
@pytest.mark.parametrize("locale", LOCALES)
def test_gettext_itself_finds_no_fault_and_compiles_the_same(locale, tmp_path):
    """The reference is GNU gettext's own compiler."""
    target = tmp_path / "django.mo"
    command = ["msgfmt", "--check-format", "--no-hash", "-o", str(target)]
    subprocess.run([*command, str(messages.po_of(locale))], check=True)
    with target.open("rb") as theirs, messages.po_of(locale).with_suffix(".mo").open("rb") as ours:
        expected = vars(gettext.GNUTranslations(theirs))["_catalog"]
        assert vars(gettext.GNUTranslations(ours))["_catalog"] == expected


@pytest.mark.skipif(shutil.which("xgettext") is None, reason="GNU gettext is not installed")
def test_every_marked_word_is_in_the_catalogue(tmp_path):
    for name in ("kal", "palettes", "schedule", "templates", "locale", "tools"):
        shutil.copytree(ROOT / name, tmp_path / name, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "manage.py", tmp_path)
    command = [sys.executable, "tools/messages.py", "extract"]
    subprocess.run(command, check=True, capture_output=True, cwd=tmp_path)
    for locale in LOCALES:
        there = tmp_path / "locale" / locale / "LC_MESSAGES" / "django.po"
        found = {message.key for message in messages.read_po(there)}
        known = {message.key for message in catalogue(locale)}
        assert found - known == set(), "run tools/messages.py extract, and translate what is new"
        assert known - found == set(), "run tools/messages.py extract: these are no longer said"


@pytest.mark.parametrize("locale", messages.DERIVED)
def test_variants_of_english_are_made_of_the_source(locale):
    assert messages.po_of(locale).read_text(encoding="utf-8") == messages.derived(locale)


def date_formats():
    """Return every format of a date that a page or a mail asks for by name."""
    asked = re.compile(
        r"""\|date:(["'])(.+?)\1|date_format\(.*?"([^"]+)"\)|(["'])([lDjFMY ,]+H:i)\4"""
    )
    for folder in ("templates", "kal", "palettes", "schedule"):
        for path in (ROOT / folder).rglob("*.*"):
            if path.suffix in (".py", ".html", ".txt") and "formats" not in path.parts:
                for found in asked.finditer(path.read_text(encoding="utf-8")):
                    yield found[2] or found[3] or found[5]


@pytest.mark.parametrize("language", ["de", "en-us"])
def test_every_format_of_a_date_has_its_form(language):
    for asked in set(date_formats()):
        if FOR_PROGRAMS.search(asked) and asked != "H:i":
            continue
        told = get_format(asked, language)
        assert "j." in told or language == "en-us" or "j" not in asked, asked
        assert told != asked or language == "de", asked


class TestTerms:
    @pytest.mark.parametrize(
        ("source", "uk", "us"),
        [
            ("Gauge", "Tension", "Gauge"),
            ("bind off", "cast off", "bind off"),
            ("binding off is a row", "casting off is a row", "binding off is a row"),
            ("Colours in grey", "Colours in grey", "Colors in gray"),
            ("%(colour_count)s colours", "%(colour_count)s colours", "%(colour_count)s colors"),
            (
                '<a class="colour">Organiser</a>',
                '<a class="colour">Organiser</a>',
                '<a class="colour">Organizer</a>',
            ),
        ],
    )
    def test_each_side_of_the_ocean_has_its_own_word(self, source, uk, us):
        assert (british(source), american(source)) == (uk, us)

    @pytest.mark.parametrize(
        ("meaning", "shown"),
        [
            ("bind off", "bind off (cast off)"),
            ("cast off loosely", "cast off loosely (bind off)"),
            ("knit two together", "knit two together"),
            ("bind off, cast off", "bind off, cast off"),
        ],
    )
    def test_a_glossary_says_both(self, meaning, shown):
        assert both_names(meaning) == shown
