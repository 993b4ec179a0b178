"""Time zone names a person may choose."""

import functools
import zoneinfo

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _


@functools.cache
def zone_names() -> tuple[str, ...]:
    """Return the IANA zone names in order, without the tz database's own internal ones."""
    internal = ("Etc/", "SystemV/", "US/", "posix", "right")
    names = zoneinfo.available_timezones()
    return (*sorted(name for name in names if "/" in name and not name.startswith(internal)), "UTC")


def validate_zone(name: str) -> None:
    """Raise ValidationError unless `name` is an IANA zone this machine knows."""
    if name != "UTC" and name not in zoneinfo.available_timezones():
        raise ValidationError(
            _("“{name}” is not a time zone; choose one like “Europe/Lisbon”.").format(name=name)
        )


def zone_choices() -> list[tuple[str, object]]:
    """Return form choices in groups by region: ('Europe', [('Europe/Lisbon', 'Lisbon'), …])."""
    regions: dict[str, list[tuple[str, str]]] = {}
    for name in zone_names():
        region, _, place = name.partition("/")
        if place:
            label = place.replace("_", " ").replace("/", ", ")
            regions.setdefault(region, []).append((name, label))
    return [("UTC", "UTC"), *regions.items()]
