from __future__ import annotations

from collections.abc import Sequence

from palettes.colour.families import FAMILIES, name_two_families
from palettes.colour.spaces import Lab
from palettes.models.yarn_facts import YarnFacts


class NamedYarn(YarnFacts):
    """A yarn whose colour may still change, so that its families are found when asked for."""

    _named: tuple[Lab, list[str]] | None = None

    class Meta(YarnFacts.Meta):
        abstract = True

    @property
    def family_names(self) -> list[str]:
        # Kept with the colour it was found for, as naming one costs more than drawing its row.
        if self._named is None or self._named[0] != self.lab:
            name_yarns([self])
        return self._named[1] if self._named else []


def name_yarns(yarns: Sequence[NamedYarn]) -> None:
    """Find the families of all these yarns at once, which takes hardly longer than of one."""
    if not yarns:
        return
    own, second = name_two_families([yarn.lab for yarn in yarns])
    for yarn, *indices in zip(yarns, own.tolist(), second.tolist(), strict=True):
        yarn._named = yarn.lab, [FAMILIES[index].value for index in indices if index >= 0]
