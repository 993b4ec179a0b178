"""Lists of rows in a clue's form that grow without script.

Each list says its own length in a hidden field, and a button asks for one more row. A row left
empty is no row.
"""

import re
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.forms.formsets import BaseFormSet, formset_factory
from django.utils.translation import gettext_lazy as _

from schedule.models.section import new_key


class KeyField(forms.CharField):
    """The hidden name of a section or way; a new one for a row that has none yet."""

    def __init__(self) -> None:
        super().__init__(required=False, max_length=12, widget=forms.HiddenInput)

    def clean(self, value: Any) -> str:
        key = str(super().clean(value))
        return key if re.fullmatch(r"[0-9a-z]{1,12}", key) else new_key()


class RowForm(forms.Form):
    """One row of a list; `asks` names the fields of which a row that counts fills one."""

    asks: tuple[str, ...] = ()

    @property
    def is_blank(self) -> bool:
        return not any(self.cleaned_data.get(name) not in (None, "", ()) for name in self.asks)

    @property
    def is_new(self) -> bool:
        """Whether the row is empty as it stands, stored or typed."""
        return not any(self[name].value() for name in self.asks)


class NumbersField(forms.CharField):
    """Whole numbers with commas or spaces between them, as a tuple."""

    def __init__(self, *, most: int, **kwargs: Any) -> None:
        super().__init__(required=False, max_length=2_000, **kwargs)
        self.most = most

    def clean(self, value: Any) -> Any:
        words = str(super().clean(value)).replace(",", " ").replace("\N{MINUS SIGN}", "-").split()
        for word in words:
            if not re.fullmatch(r"[+-]?[0-9]{1,6}", word):
                raise ValidationError(
                    _("“%(word)s” is not a whole number; write them like 4, 0."),
                    params={"word": word},
                )
        if len(words) > self.most:
            raise ValidationError(
                _("At most %(most)s numbers; split the part in two."), params={"most": self.most}
            )
        return tuple(map(int, words))

    def prepare_value(self, value: Any) -> Any:
        return ", ".join(map(str, value)) if isinstance(value, tuple) else value


class RowList(BaseFormSet[Any]):
    """A list of rows; `kept` are those to be stored, in their order."""

    @property
    def kept(self) -> list[Any]:
        rows = [
            form for form in self.forms if not form.cleaned_data.get("DELETE") and not form.is_blank
        ]
        return sorted(rows, key=lambda form: form.cleaned_data.get("ORDER") or len(self.forms))

    def drafts(self) -> tuple[Any, ...]:
        return tuple(form.draft() for form in self.kept)


def list_of(
    form: type[forms.Form], most: int, *, can_order: bool = False, kind: type[RowList] = RowList
) -> type[RowList]:
    rows = formset_factory(
        form,
        formset=kind,
        extra=0,
        can_delete=True,
        can_order=can_order,
        max_num=most,
        absolute_max=2 * most,  # two edits put together may have more than one may, till mended
        validate_max=True,
    )
    return cast(type[RowList], rows)
