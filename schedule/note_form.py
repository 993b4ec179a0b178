"""The words of a kind note, with places for what is each reader's own."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from palettes.translator import listed
from schedule.palette_notes import PLACES, unknown_places


class NoteForm(forms.Form):
    subject = forms.CharField(label=gettext_lazy("Subject"), max_length=150)
    body = forms.CharField(
        label=gettext_lazy("Words"),
        max_length=5_000,
        help_text=gettext_lazy(
            "{pairs} becomes the letters and yarns of the reader, {help} what would help them. "
            "The mail begins with a greeting and ends with a link to their letters."
        ),
        widget=forms.Textarea(attrs={"rows": 12, "spellcheck": "true"}),
    )

    def clean_subject(self) -> str:
        return self._checked("subject")

    def clean_body(self) -> str:
        return self._checked("body").replace("\r\n", "\n")

    def _checked(self, name: str) -> str:
        text: Any = self.cleaned_data[name]
        if unknown := unknown_places(text):
            raise ValidationError(
                _("Nothing can be put for %(unknown)s; use %(places)s, or write it in words.")
                % {
                    "unknown": listed(unknown),
                    "places": listed([f"{{{place}}}" for place in PLACES]),
                },
                code="place",
            )
        return str(text)
