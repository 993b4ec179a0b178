"""A time zone chosen by its name of today; an older name stays what it is, or becomes today's."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from kal.zones import current_name, is_zone, zone_choices


class ZoneSelect(forms.Select):
    """The listed names, and above them one that is not listed if it is what was chosen."""

    def optgroups(
        self, name: str, value: list[str], attrs: dict[str, Any] | None = None
    ) -> list[tuple[str | None, list[dict[str, Any]], int | None]]:
        groups = super().optgroups(name, value, attrs)
        is_listed = any(
            option["selected"] for _name, options, _place in groups for option in options
        )
        if is_listed or not value or not is_zone(value[0]):
            return groups
        own = self.create_option(name, value[0], value[0], True, 0, attrs=attrs)
        return [(None, [own], 0), *groups]


class ZoneField(forms.ChoiceField):
    """Takes every name that the tz database knows; browsers send old ones for years."""

    widget = ZoneSelect

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            label=_("Time zone"),
            choices=zone_choices,
            error_messages={"invalid_choice": _("Choose a time zone from the list.")},
            **kwargs,
        )

    def prepare_value(self, value: Any) -> Any:
        return current_name(value) if isinstance(value, str) else value

    def to_python(self, value: Any) -> str:
        return current_name(super().to_python(value))

    def valid_value(self, value: str) -> bool:
        return is_zone(value)

    def has_changed(self, initial: Any, data: Any) -> bool:
        return super().has_changed(self.prepare_value(initial), self.prepare_value(data))
