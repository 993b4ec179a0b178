"""Next year's knit-along, and how long the data of those who left is kept."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django import forms
from django.forms.models import model_to_dict
from django.utils.translation import gettext_lazy as _

from kal.forms.knit_along import KnitAlongForm, initial_amounts, tidy
from kal.models import KnitAlong


class CloneForm(KnitAlongForm):
    """A new knit-along filled in with another's facts; its dates are proposed."""

    with_texts = forms.BooleanField(
        label=_("Copy what the clues hold: texts, files, counts and meetings"),
        help_text=_("Otherwise the clues are there, and empty."),
        required=False,
        initial=True,
    )

    def __init__(
        self,
        *args: Any,
        source: KnitAlong,
        walls: Mapping[str, datetime],
        now: datetime,
        **kwargs: Any,
    ) -> None:
        initial: dict[str, Any] = model_to_dict(source, fields=self._meta.fields)
        initial |= {"is_public": False, **walls}
        for name in ("needle_mm", "gauge_stitches", "gauge_rows"):
            initial[name] = tidy(initial[name])
        # A letter more than the source has needs what its first does.
        initial |= initial_amounts(source)
        super().__init__(*args, now=now, initial=initial, **kwargs)


class KeepForm(forms.Form):
    """Days after the end; empty for what the site says."""

    days = forms.IntegerField(
        label=_("Erase those who left, so many days after the end"),
        required=False,
        min_value=0,
        max_value=3650,  # our choice: ten years
        error_messages={
            "invalid": _("Type a whole number of days, like 180."),
            "min_value": _("Type 0 for never, or a number of days."),
            "max_value": _("Type at most 3650 days, ten years."),
        },
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )
