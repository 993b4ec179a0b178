"""Numbers as people type them."""

from decimal import Decimal
from typing import Any

from django import forms


class NumberField(forms.DecimalField):
    """A number; a comma will do for the decimal point, in every language."""

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]
        return super().to_python(str(value).strip().replace(",", ".") if value else value)
