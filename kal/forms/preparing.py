"""The put-up of a ball somebody thinks of buying."""

from decimal import Decimal
from typing import Any

from django import forms

from kal.units import GRAMS_PER_OUNCE, METRES_PER_YARD


def amount(label: str, most: int) -> forms.DecimalField:
    return forms.DecimalField(
        label=label,
        min_value=Decimal("0.1"),
        max_value=Decimal(most),
        max_digits=7,
        decimal_places=2,
        error_messages={
            "required": "Type what the ball band says.",
            "invalid": "Type a number, like 50.",
            "min_value": "A ball holds more than nothing; type what its band says.",
            "max_value": f"A ball holds at most {most} here; type what its band says.",
            "max_decimal_places": "Two decimals are enough.",
        },
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any", "min": "0"}),
    )


class PutUpForm(forms.Form):
    """Weight and length of one ball, in the reader's own units."""

    def __init__(self, *args: Any, imperial: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.imperial = imperial
        self.fields["weight"] = amount(
            "Ounces in one ball" if imperial else "Grams in one ball", 2000
        )
        self.fields["length"] = amount(
            "Yards in one ball" if imperial else "Metres in one ball", 20000
        )

    def grams_and_metres(self) -> tuple[Decimal, Decimal]:
        """Return the put-up in grams and metres, after validation."""
        weight, length = self.cleaned_data["weight"], self.cleaned_data["length"]
        if self.imperial:
            return weight * GRAMS_PER_OUNCE, length * METRES_PER_YARD
        return weight, length
