from __future__ import annotations

from collections.abc import Iterable

from django.db import models
from django.utils.translation import gettext_lazy as _

from palettes.models.box import BoxField
from palettes.models.named_yarn import NamedYarn
from palettes.models.palette import Palette
from palettes.models.photo import Photo


class YarnQuerySet(models.QuerySet["Yarn"]):
    def chosen(self) -> YarnQuerySet:
        return self.filter(place=Yarn.Place.CHOSEN)

    def spare(self) -> YarnQuerySet:
        return self.filter(place=Yarn.Place.SPARE)


class Yarn(NamedYarn):
    """A yarn a participant has or considers: a candidate, one of the chosen, or a spare."""

    class Place(models.TextChoices):
        CHOSEN = "chosen", _("chosen")
        SPARE = "spare", _("spare")
        CANDIDATE = "candidate", _("candidate")

    palette = models.ForeignKey(Palette, models.CASCADE, related_name="yarns")
    place = models.CharField(max_length=9, choices=Place, default=Place.CANDIDATE)
    position = models.PositiveSmallIntegerField(default=0)
    photo = models.ForeignKey(Photo, models.SET_NULL, null=True, blank=True, related_name="yarns")
    region = BoxField(null=True, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)
    updated_at = models.DateTimeField(auto_now=True)

    objects = YarnQuerySet.as_manager()

    class Meta(NamedYarn.Meta):
        abstract = False
        ordering = ["position", "pk"]

    @property
    def is_pictured(self) -> bool:
        """Whether a photo shows the yarn itself, so that its texture can be drawn."""
        return self.photo_id is not None and self.region is not None

    @classmethod
    def in_order(cls, yarns: Iterable[Yarn]) -> list[Yarn]:
        """Return the chosen in the order of their letters, then the spares, then the candidates."""
        places = list(cls.Place)
        return sorted(yarns, key=lambda yarn: places.index(cls.Place(yarn.place)))

    @property
    def is_chosen(self) -> bool:
        return self.place == self.Place.CHOSEN
