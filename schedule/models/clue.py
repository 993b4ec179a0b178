from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from kal.models import KnitAlong

if TYPE_CHECKING:
    from schedule.models.revision import Revision


class ClueQuerySet(models.QuerySet["Clue"]):
    def out(self, now: datetime) -> ClueQuerySet:
        """Clues every participant may read: marked ready, not held, and their instant has come."""
        return self.filter(release_at__lte=now, ready_at__isnull=False, is_held=False)

    def unannounced(self, now: datetime) -> ClueQuerySet:
        """Clues that are out and whose participants have no notice in the ledger yet.

        Of an archived knit-along nobody is told anything.
        """
        return self.out(now).filter(announced_at=None, knit_along__archived_at=None)

    def written(self) -> ClueQuerySet:
        """Clues whose newest revision has text, a section or a file in it."""
        has_content = (
            Q(revisions__body__regex=r"\S")
            | Q(revisions__sections__isnull=False)
            | Q(revisions__attachments__isnull=False)
        )
        return self.filter(has_content, revisions__key=F("newest_key")).distinct()


class Clue(models.Model):
    """One secret section of the pattern and the instant it goes out."""

    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="clues")
    number = models.PositiveSmallIntegerField()
    title = models.CharField(max_length=120, blank=True)
    title_is_secret = models.BooleanField(_("keep the title secret until then"), default=True)
    release_at = models.DateTimeField(_("goes out at"))
    ready_at = models.DateTimeField(null=True, blank=True)
    is_held = models.BooleanField(_("held back"), default=False)
    # Kept by Revision.save, so that a page need not look for the newest of many.
    newest_key = models.UUIDField(null=True, blank=True, editable=False)
    # Another one whenever the knit-along's glossary changes, for the same reason.
    glossary_key = models.UUIDField(null=True, blank=True, editable=False)
    # And another one whenever the answers shown with the clue change.
    notes_key = models.UUIDField(null=True, blank=True, editable=False)
    # Written in one transaction with the notices, so they are neither lost nor made twice.
    announced_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects = ClueQuerySet.as_manager()

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["knit_along", "number"], name="one_clue_per_number"),
            models.UniqueConstraint(
                fields=["knit_along", "release_at"],
                name="one_clue_per_instant",
                violation_error_message=_("Another clue already goes out at that instant."),
            ),
            models.CheckConstraint(
                condition=Q(number__gte=1),
                name="clue_numbers_from_one",
                violation_error_message=_("Clues are numbered from 1."),
            ),
        ]

    def __str__(self) -> str:
        return f"clue {self.number}"

    def is_out(self, now: datetime) -> bool:
        """The same rule as ClueQuerySet.out, for a row at hand."""
        return self.release_at <= now and self.ready_at is not None and not self.is_held

    def is_released(self, now: datetime) -> bool:
        """Whether its going out can no longer be undone: it is out, or was announced as out."""
        return self.announced_at is not None or self.is_out(now)

    @property
    def is_written(self) -> bool:
        return Clue.objects.written().filter(pk=self.pk).exists()

    @property
    def revision(self) -> Revision | None:
        """The newest revision, or None while nothing is written."""
        return self.revisions.order_by("-number").first()
