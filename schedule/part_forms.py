"""The rows of a section as numbers, as an organiser types them."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext_lazy as _

from palettes.translator import READERS_LANGUAGE
from schedule.clue_rows import NumbersField, RowForm, list_of
from schedule.drafts import PartDraft
from schedule.models import CountedPart
from schedule.models.section import MAX_ROWS
from schedule.pattern.errors import Told

MOST_PARTS = 6  # our choice: what one section still holds in a form
MOST_STITCHES = 100_000  # our choice: a hundred times a large blanket's row
LETTERS_HINT = _("Colour letters row by row, coming round in turn, like AAB.")


def _count(label: Any, *, least: int = 0, most: int = MOST_STITCHES, **kwargs: Any) -> Any:
    limits = [
        MinValueValidator(least, _("At least %(limit_value)s.")),
        MaxValueValidator(most, _("At most %(limit_value)s.")),
    ]
    widget = forms.NumberInput(attrs={"inputmode": "numeric", "min": least, "max": most})
    return forms.IntegerField(
        label=label, required=False, widget=widget, validators=limits, **kwargs
    )


class PartForm(RowForm):
    asks = ("name", "start", "rows", "numbers", "states_end")

    kind = forms.ChoiceField(
        label=_("Kind"),
        required=False,
        choices=CountedPart.Kind.choices,
        initial=CountedPart.Kind.ROWS,
    )
    name = forms.CharField(label=_("Name of these rows"), required=False, max_length=80)
    start = _count(
        _("Stitches at the start"), help_text=_("Of a cast-on: the stitches that are cast on.")
    )
    rows = _count(_("Rows"), least=1, most=MAX_ROWS)
    numbers = NumbersField(
        label=_("Change in each row"),
        most=500,
        help_text=_(
            "More or fewer stitches, coming round in turn: 4, 0. "
            "Of short rows: the stitches that each of them works."
        ),
    )
    letters = forms.CharField(
        label=_("Letters"), required=False, max_length=40, initial="A", help_text=LETTERS_HINT
    )
    states_end = _count(_("Stitches the text promises at the end"))
    repeat_stitches = _count(_("Stitch repeat"), least=1)
    repeat_edge = _count(_("Plus edge stitches"))
    repeat_rows = _count(_("Rows of the repeat"), least=1, most=MAX_ROWS)

    def __init__(self, *args: Any, letters: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.known = letters

    def clean_letters(self) -> str:
        letters = re.sub(r"[\s,]+", "", str(self.cleaned_data["letters"])).upper()
        for letter in letters:
            if letter not in self.known:
                raise ValidationError(
                    _("This knit-along has no colour %(letter)s; its letters are %(known)s."),
                    params={"letter": letter, "known": self.known},
                )
        return letters or self.known[:1]

    def clean(self) -> dict[str, Any]:
        if not self.is_blank and not self.errors:
            if self.cleaned_data.get("start") is None:
                self.add_error("start", _("Say how many stitches these rows start from."))
            self._check_as_rows()
        return self.cleaned_data

    def _check_as_rows(self) -> None:
        if self.errors:
            return
        try:
            self.draft().as_part(str(_("These rows")))
        except Told as refused:
            self.add_error(None, refused.words(READERS_LANGUAGE))

    def draft(self) -> PartDraft:
        cleaned = self.cleaned_data
        kind, numbers = cleaned["kind"] or CountedPart.Kind.ROWS, cleaned["numbers"]
        is_short = kind == CountedPart.Kind.SHORT_ROWS
        return PartDraft(
            start=cleaned["start"],
            kind=kind,
            name=cleaned["name"],
            rows=len(numbers) if is_short else cleaned["rows"] or 1,
            changes=() if is_short else numbers,
            worked=numbers if is_short else (),
            letters=cleaned["letters"],
            repeat_stitches=cleaned["repeat_stitches"],
            repeat_edge=cleaned["repeat_edge"] or 0,
            repeat_rows=cleaned["repeat_rows"] or 1,
            states_end=cleaned["states_end"],
        )


PartRows = list_of(PartForm, MOST_PARTS)
