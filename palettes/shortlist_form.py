"""What a participant may ask of a shortlist."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from palettes.colour.shortlist import MAX_CHOSEN, MIN_CHOSEN, Aim
from palettes.colour.shortlist_wording import AIMS
from palettes.models import Yarn


class ShortlistForm(forms.Form):
    """How many yarns, to what end, and which must be among them."""

    choose = forms.IntegerField(
        label=_("How many yarns"),
        min_value=MIN_CHOSEN,
        max_value=MAX_CHOSEN,
        error_messages=dict.fromkeys(
            ("required", "invalid", "min_value", "max_value"), _("Choose 2 to 8 yarns.")
        ),
    )
    aim = forms.ChoiceField(
        label=_("What you would like"),
        widget=forms.RadioSelect,
        error_messages={
            key: _("Say what you would like: pick one of the five.")
            for key in ("required", "invalid_choice")
        },
    )
    lock = forms.TypedMultipleChoiceField(
        label=_("Must be in every set"),
        coerce=int,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "invalid_choice": _("A yarn that you locked is no longer among yours; lock another.")
        },
    )

    def __init__(self, data: Any, *, yarns: Sequence[Yarn]) -> None:
        super().__init__(data, auto_id="shortlist-%s", label_suffix="")
        choices = {
            "aim": [(each.value, _(AIMS[each])) for each in Aim],
            "lock": [(yarn.pk, yarn.name) for yarn in yarns],
        }
        for name, pairs in choices.items():
            self.fields[name].choices = pairs  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        asked = self.cleaned_data
        locked, choose = len(asked.get("lock", ())), asked.get("choose")
        if choose and locked > choose:
            self.add_error(
                "lock",
                ngettext(
                    "%(locked)d yarns are locked and only %(choose)d is chosen; unlock some.",
                    "%(locked)d yarns are locked and only %(choose)d are chosen; unlock some.",
                    choose,
                )
                % {"locked": locked, "choose": choose},
            )
        return asked
