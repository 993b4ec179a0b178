"""Every address the site has, filled with rows at hand and their neighbours.

A route whose argument has no filler here fails the tests: give it one, so that it is tried too.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from django.urls import URLPattern, URLResolver, get_resolver, reverse

type Fillers = Mapping[str, Iterable[object]]


@dataclass(frozen=True)
class Route:
    """A named route and the names of its arguments."""

    name: str
    arguments: tuple[str, ...]

    def check(self, fillers: Fillers) -> None:
        missing = [argument for argument in self.arguments if argument not in fillers]
        assert not missing, f"{self.name} takes {missing}, which has no filler in this test."

    def first_arguments(self, fillers: Fillers) -> dict[str, object]:
        """Return the first filler of each argument."""
        self.check(fillers)
        return {argument: next(iter(fillers[argument])) for argument in self.arguments}

    def addresses(self, fillers: Fillers) -> Iterator[str]:
        self.check(fillers)
        for values in product(*(fillers[argument] for argument in self.arguments)):
            yield reverse(self.name, kwargs=dict(zip(self.arguments, values, strict=True)))


def all_routes() -> list[Route]:
    """Return every route of the URL conf; each must have a name."""
    return list(_walk(get_resolver().url_patterns, (), ()))


def _walk(
    patterns: Iterable[URLPattern | URLResolver],
    namespaces: tuple[str, ...],
    arguments: tuple[str, ...],
) -> Iterator[Route]:
    for pattern in patterns:
        own = (*arguments, *pattern.pattern.converters)
        if isinstance(pattern, URLResolver):
            inner = (*namespaces, pattern.namespace) if pattern.namespace else namespaces
            yield from _walk(pattern.url_patterns, inner, own)
        else:
            assert pattern.name, f"The route {pattern.pattern} has no name."
            yield Route(":".join((*namespaces, pattern.name)), own)
