from __future__ import annotations

from django.db import models
from django.db.models import Q

from kal.models import KnitAlong
from palettes.models.palette import Palette
from palettes.models.yarn_facts import YarnFacts


class RegistrationQuerySet(models.QuerySet["Registration"]):
    def in_gallery_of(self, knit_along: KnitAlong) -> RegistrationQuerySet:
        """Current registrations whose owners agreed to show them and have not left."""
        return self.filter(
            knit_along=knit_along,
            is_current=True,
            palette__participant__shows_palette=True,
            palette__participant__left_at=None,
        )


class Registration(models.Model):
    """An unchanging copy of a palette at the moment its owner registered it.

    Later changes make a new registration; the older ones stay as the palette's history.
    """

    palette = models.ForeignKey(Palette, models.CASCADE, related_name="registrations")
    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="registrations")
    number = models.PositiveIntegerField()
    is_current = models.BooleanField(default=True)
    mean_lightness = models.FloatField()
    registered_at = models.DateTimeField()

    objects = RegistrationQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(fields=["palette", "number"], name="registrations_numbered"),
            models.UniqueConstraint(
                fields=["palette"], condition=Q(is_current=True), name="one_current_registration"
            ),
        ]
        indexes = [
            models.Index(
                fields=["knit_along", "-id"],
                condition=Q(is_current=True),
                name="gallery_newest_first",
            ),
            models.Index(
                fields=["knit_along", "mean_lightness", "id"],
                condition=Q(is_current=True),
                name="gallery_by_lightness",
            ),
        ]

    def __str__(self) -> str:
        return f"registration {self.number} of {self.palette}"


class RegisteredYarn(YarnFacts):
    """One yarn of a registration: chosen ones carry positions from 0 and letters, spares follow."""

    registration = models.ForeignKey(Registration, models.CASCADE, related_name="yarns")
    position = models.PositiveSmallIntegerField()
    is_spare = models.BooleanField(default=False)
    family = models.CharField(max_length=10)
    second_family = models.CharField(max_length=10, blank=True)

    class Meta(YarnFacts.Meta):
        abstract = False
        ordering = ["position", "pk"]
        constraints = [
            *YarnFacts.Meta.constraints,
            models.UniqueConstraint(
                fields=["registration", "position"], name="one_yarn_per_position"
            ),
        ]
        indexes = [
            models.Index(fields=["family", "-registration"], name="gallery_by_family"),
            models.Index(
                fields=["second_family", "-registration"],
                condition=~Q(second_family=""),
                name="gallery_by_second_family",
            ),
        ]
