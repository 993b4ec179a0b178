"""What an organiser may send as the glossary: a line for each abbreviation."""

import hashlib
from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

MOST_ENTRIES = 300  # our choice: three times a long stitch dictionary's list
LONGEST_SHORT, LONGEST_MEANING = 20, 200  # as the rows hold


class GlossaryForm(forms.Form):
    """Lines like `k2tog = knit two stitches together`; `began_from` tells what they began as."""

    began_from = forms.CharField(widget=forms.HiddenInput)
    lines = forms.CharField(
        label=_("Abbreviations"),
        required=False,
        max_length=100_000,
        help_text=_("One a line, with = before what it means: k2tog = knit two together."),
        widget=forms.Textarea(attrs={"rows": 18, "spellcheck": "false"}),
    )

    def clean_lines(self) -> dict[str, str]:
        meanings: dict[str, str] = {}
        for number, line in enumerate(str(self.cleaned_data["lines"]).splitlines(), start=1):
            if line.strip():
                short, meaning = _entry(number, line)
                if short in meanings:
                    raise _refusal(number, _("“%(text)s” has a meaning already."), short)
                meanings[short] = meaning
        if len(meanings) > MOST_ENTRIES:
            raise ValidationError(
                _("A glossary holds at most %(most)s abbreviations."),
                params={"most": MOST_ENTRIES},
            )
        return meanings


def _entry(number: int, line: str) -> tuple[str, str]:
    short, equals, meaning = (" ".join(part.split()) for part in line.partition("="))
    if not (equals and short and meaning):
        raise _refusal(number, _("“%(text)s” is not like k2tog = knit two together."), line.strip())
    if len(short) > LONGEST_SHORT or len(meaning) > LONGEST_MEANING:
        raise ValidationError(
            _(
                "Line %(number)s: an abbreviation has at most %(short)s characters and its "
                "meaning %(meaning)s."
            ),
            params={"number": number, "short": LONGEST_SHORT, "meaning": LONGEST_MEANING},
        )
    return short, meaning


def _refusal(number: int, sentence: Any, text: str) -> ValidationError:
    return ValidationError(
        _("Line %(number)s: %(sentence)s"),
        params={"number": number, "sentence": sentence % {"text": text[:60]}},
    )


def lines_of(meanings: Mapping[str, str]) -> str:
    """Return the glossary as it is typed, in the alphabet's order."""
    ordered = sorted(meanings.items(), key=lambda entry: entry[0].casefold())
    return "".join(f"{short} = {meaning}\n" for short, meaning in ordered)


def state_of(meanings: Mapping[str, str]) -> str:
    """Return a text that is another one whenever the glossary is."""
    return hashlib.sha256(lines_of(meanings).encode()).hexdigest()[:16]
