from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from kal.models import KnitAlong


class GlossaryEntryQuerySet(models.QuerySet["GlossaryEntry"]):
    def meanings(self, knit_along: KnitAlong) -> dict[str, str]:
        """Return what each abbreviation of the knit-along means."""
        entries = self.filter(knit_along=knit_along)
        return dict(entries.values_list("short", "meaning"))


class GlossaryEntry(models.Model):
    """An abbreviation that the clues of a knit-along share, and what it means.

    Participants see an entry where a clue that is out uses it, and nowhere before.
    """

    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="glossary")
    short = models.CharField(_("abbreviation"), max_length=20)
    meaning = models.CharField(_("what it means"), max_length=200)

    objects = GlossaryEntryQuerySet.as_manager()

    class Meta:
        ordering = ["short"]
        verbose_name_plural = _("glossary entries")
        constraints = [
            models.UniqueConstraint(
                fields=["knit_along", "short"],
                name="one_meaning_per_abbreviation",
                violation_error_message=_("That abbreviation is in the glossary already."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.short}: {self.meaning}"
