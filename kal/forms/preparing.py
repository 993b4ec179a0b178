"""The put-up of a ball somebody thinks of buying."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _

from kal.forms.numbers import NumberField
from palettes.colour.quantities import grams_on_band, metres_on_band


def amount(label: str, most: int) -> forms.DecimalField:
    return NumberField(
        label=label,
        min_value=Decimal("0.1"),
        max_value=Decimal(most),
        max_digits=7,
        decimal_places=2,
        error_messages={
            "required": _("Type what the ball band says."),
            "invalid": _("Type a number, like 50."),
            "min_value": _("A ball holds more than nothing; type what its band says."),
            "max_value": _("A ball holds at most {most} here; type what its band says.").format(
                most=most
            ),
            "max_decimal_places": _("Two decimals are enough."),
        },
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any", "min": "0"}),
    )


class PutUpForm(forms.Form):
    """Weight and length of one ball, in the reader's own units."""

    def __init__(self, *args: Any, imperial: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.imperial = imperial
        self.fields["weight"] = amount(
            _("Ounces in one ball") if imperial else _("Grams in one ball"), 2000
        )
        self.fields["length"] = amount(
            _("Yards in one ball") if imperial else _("Metres in one ball"), 20000
        )

    def grams_and_metres(self) -> tuple[Decimal, Decimal]:
        """Return the put-up in grams and metres, after validation."""
        weight, length = self.cleaned_data["weight"], self.cleaned_data["length"]
        if self.imperial:
            return grams_on_band(weight), metres_on_band(length)
        return weight, length
