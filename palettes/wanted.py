"""What somebody looks for in the gallery: how it narrows the entries, and its words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from palettes.colour.contrast import GRADES
from palettes.colour.facets import DYE_STYLES, bits
from palettes.colour.families import FAMILIES
from palettes.colour.fibre import KINDS
from palettes.colour.wording import SCHEMES
from palettes.models.gallery import GalleryEntryQuerySet

if TYPE_CHECKING:
    from django.utils.functional import _StrPromise

# L* from the darkest yarn to the lightest. Our choice: thirds of the ladder from a black near 16
# to an undyed white near 92.
REACH_BOUNDS: Final = {
    "narrow": (0.0, 25.0),
    "middling": (25.0, 50.0),
    "wide": (50.0, 101.0),
}

RUNS: Final = {
    "light": gettext_lazy("runs light"),
    "balanced": gettext_lazy("is balanced"),
    "dark": gettext_lazy("runs dark"),
}
SHARES: Final = {
    "some": gettext_lazy("a yarn or more"),
    "half": gettext_lazy("half its yarns or more"),
    "all": gettext_lazy("every yarn"),
}
REACHES: Final = {
    "narrow": gettext_lazy("narrow: all much alike"),
    "middling": gettext_lazy("middling"),
    "wide": gettext_lazy("wide: from dark to light"),
}
# Grades are asked for as a least one; every pair is at least lost.
LEAST_GRADES: Final = {
    "strong": gettext_lazy("strong"),
    "workable": gettext_lazy("workable or better"),
    "close": gettext_lazy("close or better"),
}
FIBRES: Final = {
    "animal": gettext_lazy("wool or other hair"),
    "silk": gettext_lazy("silk"),
    "plant": gettext_lazy("plant fibre"),
    "synthetic": gettext_lazy("man-made fibre"),
}
SCHEME_WORDS: Final = {scheme.value: gettext_lazy(words) for scheme, words in SCHEMES.items()}


@dataclass(frozen=True, slots=True)
class Chip:
    """One thing asked for: its words, and the field and value that ask for it."""

    words: str
    field: str
    value: str


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked of a palette; an empty answer asks nothing."""

    family: tuple[str, ...] = ()
    match: str = ""
    """'all' for every one of the families, else any of them."""
    share: str = ""
    run: str = ""
    darkest: int | None = None
    """The least L* that any of its yarns may have."""
    lightest: int | None = None
    """The most."""
    reach: str = ""
    worst: str = ""
    """The least grade of its worst pair, and of all its pairs in the mean."""
    mean: str = ""
    scheme: str = ""
    fibre: str = ""
    dye: tuple[str, ...] = ()
    kit: int | None = None
    words: str = ""

    def __bool__(self) -> bool:
        return self != Wanted(match=self.match, share=self.share)

    def among(self, entries: GalleryEntryQuerySet) -> GalleryEntryQuerySet:
        """Narrow the entries to those that are like this."""
        entries = self._by_colour(self._by_lightness(self._by_contrast(entries)))
        if self.fibre:
            entries = entries.with_bits("fibres", bits([self.fibre], KINDS), every=True)
        if self.dye:
            entries = entries.with_bits("dye_styles", bits(self.dye, DYE_STYLES), every=False)
        if self.kit is not None:
            entries = entries.filter(kit=self.kit)
        return entries.with_words(self.words)

    def _by_colour(self, entries: GalleryEntryQuerySet) -> GalleryEntryQuerySet:
        if self.family:
            entries = entries.with_bits(
                f"families_{self.share or 'some'}",
                bits(self.family, FAMILIES),
                every=self.match == "all",
            )
        return entries.filter(scheme=self.scheme) if self.scheme else entries

    def _by_lightness(self, entries: GalleryEntryQuerySet) -> GalleryEntryQuerySet:
        if self.run:
            entries = entries.filter(run=self.run)
        if self.darkest is not None:
            entries = entries.filter(darkest__gte=self.darkest)
        if self.lightest is not None:
            entries = entries.filter(lightest__lte=self.lightest)
        if self.reach:
            least, below = REACH_BOUNDS[self.reach]
            entries = entries.with_reach(least, below)
        return entries

    def _by_contrast(self, entries: GalleryEntryQuerySet) -> GalleryEntryQuerySet:
        if self.worst:
            entries = entries.filter(worst_grade__lte=_place(self.worst))
        if self.mean:
            entries = entries.filter(mean_grade__lte=_place(self.mean))
        return entries

    def chips(self, kits: dict[int, str]) -> Iterator[Chip]:
        """Yield each thing that is asked for, in words that can stand alone."""
        yield from self._colour_chips()
        for field, words in self._single_words():
            yield Chip(words, field, str(getattr(self, field)))
        for style in self.dye:
            yield Chip(_(style), "dye", style)
        if self.kit is not None:
            yield Chip(
                _("from the kit %(kit)s") % {"kit": kits.get(self.kit, "?")}, "kit", str(self.kit)
            )
        if self.words:
            yield Chip(
                _("“%(words)s” in a yarn's name or fibre") % {"words": self.words},
                "words",
                self.words,
            )

    def _colour_chips(self) -> Iterator[Chip]:
        wordings = {
            "some": _("some %(family)s"),
            "half": _("half or more %(family)s"),
            "all": _("all %(family)s"),
        }
        for family in self.family:
            words = wordings[self.share or "some"] % {"family": _(family)}
            yield Chip(words, "family", family)

    def _single_words(self) -> Iterator[tuple[str, str]]:
        tables: dict[str, tuple[str, dict[str, _StrPromise]]] = {
            "run": ("%s", RUNS),
            "reach": (_("lightness range %s"), REACHES),
            "worst": (_("worst pair %s"), LEAST_GRADES),
            "mean": (_("pairs on average %s"), LEAST_GRADES),
            "scheme": ("%s", SCHEME_WORDS),
            "fibre": (_("with %s"), FIBRES),
        }
        for field, (template, table) in tables.items():
            if value := getattr(self, field):
                yield field, template % table[value]
        if self.darkest is not None:
            yield "darkest", _("no yarn darker than L* %d") % self.darkest
        if self.lightest is not None:
            yield (
                "lightest",
                _("no yarn lighter than L* %(lightness)d") % {"lightness": self.lightest},
            )


def _place(grade: str) -> int:
    return [each.value for each in GRADES].index(grade)
