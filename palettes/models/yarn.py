from __future__ import annotations

from django.db import models

from palettes.colour.families import families_of
from palettes.models.palette import Palette
from palettes.models.photo import Photo
from palettes.models.yarn_facts import YarnFacts


class YarnQuerySet(models.QuerySet["Yarn"]):
    def chosen(self) -> YarnQuerySet:
        return self.filter(place=Yarn.Place.CHOSEN)

    def spare(self) -> YarnQuerySet:
        return self.filter(place=Yarn.Place.SPARE)


class Yarn(YarnFacts):
    """A yarn a participant has or considers: a candidate, one of the chosen, or a spare."""

    class Place(models.TextChoices):
        CHOSEN = "chosen", "chosen"
        SPARE = "spare", "spare"
        CANDIDATE = "candidate", "candidate"

    palette = models.ForeignKey(Palette, models.CASCADE, related_name="yarns")
    place = models.CharField(max_length=9, choices=Place, default=Place.CANDIDATE)
    position = models.PositiveSmallIntegerField(default=0)
    photo = models.ForeignKey(Photo, models.SET_NULL, null=True, blank=True, related_name="yarns")
    created_at = models.DateTimeField(auto_now_add=True)
    updated_at = models.DateTimeField(auto_now=True)

    objects = YarnQuerySet.as_manager()

    class Meta(YarnFacts.Meta):
        abstract = False
        ordering = ["position", "pk"]

    @property
    def family_names(self) -> list[str]:
        return [family.value for family in families_of(self.lab)]

    @property
    def is_chosen(self) -> bool:
        return self.place == self.Place.CHOSEN
