"""Time zone names: those that a person may choose, and older ones that a browser may still send.

The tz database lists the names to choose from in `zone.tab`, at least one a country; its other
names are links that are kept so that old settings go on working (Theory and pragmatics of the tz
code and data, https://www.iana.org/time-zones, chapter Scope and chapter Time zone identifiers).
"""

import functools
import zoneinfo
from collections import Counter
from collections.abc import Mapping
from importlib.resources import files

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _


@functools.cache
def zone_names() -> tuple[str, ...]:
    """Return the names to choose from, in order."""
    rows = (line.split("\t") for line in _data("zone.tab") if not line.startswith("#"))
    return (*sorted({row[2] for row in rows} & zoneinfo.available_timezones()), "UTC")


@functools.cache
def _renamed() -> Mapping[str, str]:
    """Return the name to choose for each older one, where there is but one that keeps its clocks.

    “Iceland” has none: its clocks are those of a dozen countries, and Reykjavik is not told apart.
    """
    links = {
        link: target
        for kind, target, link in (
            line.split() for line in _data("tzdata.zi") if line.startswith("L ")
        )
    }
    listed = set(zone_names())
    sharing = Counter(links.get(name, name) for name in listed)
    return {
        old: name
        for old, name in links.items()
        if old not in listed and name in listed and sharing[name] == 1
    }


def _data(name: str) -> list[str]:
    return (files("tzdata") / "zoneinfo" / name).read_text("utf-8").splitlines()


def current_name(name: str) -> str:
    """Return the listed name of a zone where it is known beyond doubt, else the name itself."""
    return _renamed().get(name, name)


def is_zone(name: str) -> bool:
    """Whether this machine knows an IANA zone of that name, listed or not."""
    return name == "UTC" or name in zoneinfo.available_timezones()


def validate_zone(name: str) -> None:
    """Raise ValidationError unless `name` is an IANA zone this machine knows."""
    if not is_zone(name):
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
