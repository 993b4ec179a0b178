"""A date and time as clocks on the wall show it, in whichever zone the form is about."""

from datetime import datetime

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _

# Far enough for any knit-along, near enough that no time zone rule overflows; our choice.
FIRST_YEAR, LAST_YEAR = 2000, 2100


class WallTimeInput(forms.DateTimeInput):
    input_type = "datetime-local"

    def format_value(self, value: object) -> str | None:
        return (
            f"{value:%Y-%m-%dT%H:%M}"
            if isinstance(value, datetime)
            else super().format_value(value)
        )


class WallTimeField(forms.Field):
    """Gives a naive datetime, to be read in a zone by `kal.wall_times.instant_of`."""

    widget = WallTimeInput
    default_error_messages = {
        "required": _("Choose a date and a time."),
        "invalid": _("That is not a date and time; write it like 2027-03-01 18:00."),
        "year": format_lazy(
            _("Choose a year from {first_year} to {last_year}."),
            first_year=FIRST_YEAR,
            last_year=LAST_YEAR,
        ),
    }

    def to_python(self, value: object) -> datetime | None:
        if value in self.empty_values:
            return None
        try:
            wall = datetime.fromisoformat(str(value).strip())
        except ValueError:
            raise ValidationError(self.error_messages["invalid"], code="invalid") from None
        if wall.tzinfo is not None:
            raise ValidationError(self.error_messages["invalid"], code="invalid")
        if not FIRST_YEAR <= wall.year <= LAST_YEAR:
            raise ValidationError(self.error_messages["year"], code="year")
        return wall
