"""Which yarns a participant would like to see knitted together, and how to look at them."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from palettes.models import Yarn
from palettes.picture_page import SIGHT_WORDS


class PictureForm(forms.Form):
    """Two or three different yarns, and a way of seeing."""

    first = forms.TypedChoiceField(label=_("First yarn"), coerce=int)
    second = forms.TypedChoiceField(label=_("Second yarn"), coerce=int)
    third = forms.TypedChoiceField(
        label=_("Third yarn"), coerce=int, required=False, empty_value=None
    )
    sight = forms.ChoiceField(
        label=_("Look at them"),
        choices=list(SIGHT_WORDS.items()),
        widget=forms.RadioSelect,
        error_messages={
            key: _("Say how to look at them: pick one of the five.")
            for key in ("required", "invalid_choice")
        },
    )

    def __init__(self, data: Any, *, yarns: Sequence[Yarn]) -> None:
        super().__init__(data, auto_id="picture-%s", label_suffix="")
        choices = [(yarn.pk, yarn.name) for yarn in yarns]
        for name in ("first", "second", "third"):
            field = self.fields[name]
            field.choices = [*([("", _("none"))] if name == "third" else ()), *choices]  # type: ignore[attr-defined]
            gone = _("That yarn is no longer among yours; pick another.")
            field.error_messages |= {"invalid_choice": gone, "required": _("Pick two yarns.")}

    def clean(self) -> dict[str, Any]:
        asked = self.cleaned_data
        picked = [asked[name] for name in ("first", "second", "third") if asked.get(name)]
        if len(set(picked)) < len(picked):
            self.add_error(None, _("Pick yarns that differ: one of them is named twice."))
        return asked
