from __future__ import annotations

from django.db import models

from kal.models import KnitAlong, Participant
from palettes.models.registration import Registration, Run


class GalleryEntryQuerySet(models.QuerySet["GalleryEntry"]):
    def shown_in(self, knit_along: KnitAlong) -> GalleryEntryQuerySet:
        """Entries whose owners agree to show their palette, and have not left."""
        return self.filter(
            knit_along=knit_along,
            participant__shows_palette=True,
            participant__left_at=None,
        )

    def under(self, *, family: str = "", run: str = "") -> GalleryEntryQuerySet:
        """Each palette once: those with a yarn of the family, and that run so, where given."""
        entries = self.filter(family=family)
        return entries.filter(run=run) if run else entries


class GalleryEntry(models.Model):
    """One way to find a current registration in the gallery.

    There is an entry for each family that one of its chosen yarns belongs to, and one with no
    family for the unfiltered gallery. Each is an index entry of its own, so a page of a large
    gallery costs the same wherever it is and whatever it is filtered by. Consent is not copied
    here but asked of the participant each time, so withdrawing it takes effect at once.
    """

    # The indexes below begin with these two; others of their own would only mislead a planner.
    registration = models.ForeignKey(
        Registration, models.CASCADE, related_name="gallery_entries", db_index=False
    )
    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="+", db_index=False)
    participant = models.ForeignKey(Participant, models.CASCADE, related_name="+")
    family = models.CharField(max_length=10, blank=True)
    run = models.CharField(max_length=8, choices=Run)
    kit = models.ForeignKey(
        "palettes.Kit", models.SET_NULL, null=True, blank=True, related_name="+"
    )

    objects = GalleryEntryQuerySet.as_manager()

    class Meta:
        ordering = ["-registration_id"]
        verbose_name_plural = "gallery entries"
        constraints = [
            models.UniqueConstraint(fields=["registration", "family"], name="one_entry_per_family"),
        ]
        indexes = [
            models.Index(
                fields=["knit_along", "family", "-registration"], name="gallery_newest_first"
            ),
            models.Index(
                fields=["knit_along", "family", "run", "-registration"], name="gallery_by_run"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.registration_id} under {self.family or 'any family'}, {self.run}"

    @property
    def owner_name(self) -> str:
        """The name the owner goes by; never any part of their mail address."""
        return self.participant.user.name.strip() or "a knitter"

    @property
    def run_words(self) -> str:
        """How the palette runs, to follow a subject: 'runs light', 'is balanced'."""
        return "is balanced" if self.run == Run.BALANCED else Run(self.run).label
