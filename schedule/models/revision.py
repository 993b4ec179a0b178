from __future__ import annotations

import uuid
from datetime import datetime
from typing import TYPE_CHECKING, Any

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models, transaction
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from schedule.models.clue import Clue

if TYPE_CHECKING:
    from schedule.models.attachment import Attachment


class RevisionQuerySet(models.QuerySet["Revision"]):
    def errata(self) -> RevisionQuerySet:
        """Revisions that put a released clue right, oldest first: those with a note."""
        return self.exclude(note="").order_by("number")

    def unannounced_errata(self, now: datetime) -> RevisionQuerySet:
        """Errata of clues that are out and announced, still without notices in the ledger."""
        announced = Clue.objects.out(now).filter(
            announced_at__isnull=False, knit_along__archived_at=None
        )
        return self.errata().filter(announced_at=None, clue__in=announced)


class Revision(models.Model):
    """The content of a clue as it was saved once; a change is a new revision, never an edit."""

    clue = models.ForeignKey(Clue, models.CASCADE, related_name="revisions")
    number = models.PositiveIntegerField()
    # Never given to another revision, as a primary key may be: pages are remembered by it.
    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    title = models.CharField(max_length=120, blank=True)
    body = models.TextField(help_text="Markdown.")
    note = models.CharField(
        _("what changed"),
        max_length=300,
        blank=True,
        help_text=_("Told to participants as errata."),
    )
    attachments = models.ManyToManyField("schedule.Attachment", related_name="revisions")
    techniques = models.CharField(max_length=300, blank=True, help_text="Separated by commas.")
    descriptions = models.JSONField(
        default=dict, blank=True, help_text="What images show, by the primary key of the file."
    )
    author = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+"
    )
    saved_at = models.DateTimeField()
    announced_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects = RevisionQuerySet.as_manager()

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["clue", "number"], name="revisions_numbered"),
        ]

    def save(self, **options: Any) -> None:
        if not self._state.adding:
            raise TypeError("A revision is never edited; a change is a new revision.")
        with transaction.atomic():
            super().save(**options)
            Clue.objects.filter(pk=self.clue_id).update(newest_key=self.key)

    def description_of(self, file: Attachment) -> str:
        """What this revision says a file shows, or else what was said at its upload."""
        return str(self.descriptions.get(str(file.pk), file.alt))

    def __str__(self) -> str:
        return f"revision {self.number} of {self.clue}"


class LetterUse(models.Model):
    """How much of one colour letter a clue uses, in grams, from the test knit."""

    revision = models.ForeignKey(Revision, models.CASCADE, related_name="letter_uses")
    letter = models.CharField(max_length=1)
    grams = models.DecimalField(max_digits=6, decimal_places=1, validators=[MinValueValidator(0)])
    note = models.CharField(
        max_length=120, blank=True, help_text=_("Like “about 112 m, with the edge”.")
    )

    class Meta:
        ordering = ["letter"]
        constraints = [
            models.UniqueConstraint(fields=["revision", "letter"], name="one_use_per_letter"),
            models.CheckConstraint(
                condition=Q(grams__gte=0),
                name="letter_use_not_negative",
                violation_error_message=_("Grams cannot be less than zero."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.letter}: {self.grams} g"
