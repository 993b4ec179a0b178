from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import models
from django.db.models import Count, Q

from kal.models import Participant
from schedule.models.clue import Clue


class NoticeQuerySet(models.QuerySet["Notice"]):
    def unsent(self, now: datetime) -> NoticeQuerySet:
        """Notices to be tried at `now`, oldest first, of clues that are out and of no other.

        One that a process has claimed is left to it until the claim runs out.
        """
        waiting = self.filter(sent_at=None, gave_up_at=None, try_after__lte=now)
        unclaimed = Q(claimed_until=None) | Q(claimed_until__lte=now)
        return waiting.filter(unclaimed, clue__in=Clue.objects.out(now)).order_by("pk")

    def for_mail(self) -> NoticeQuerySet:
        """With everything that the mail says, oldest first."""
        return self.select_related("participant__user", "clue__knit_along").order_by("pk")

    def given_up(self) -> NoticeQuerySet:
        """Those that failed for good, of people who still want mail."""
        wanting = Participant.objects.wanting_notices()
        return self.filter(gave_up_at__isnull=False, participant__in=wanting)

    def troubled(self) -> NoticeQuerySet:
        """Unsent ones whose last try failed, given up or not."""
        return self.filter(sent_at=None).exclude(error="")

    def counted_by_event(self) -> list[dict[str, Any]]:
        """Return clue number, event, errata revision, and how many were sent, wait, or stopped."""
        counted = (
            self.order_by()
            .values("clue__number", "event", "revision")
            .annotate(
                sent=Count("pk", filter=Q(sent_at__isnull=False)),
                waiting=Count("pk", filter=Q(sent_at=None, gave_up_at=None)),
                stopped=Count("pk", filter=Q(gave_up_at__isnull=False)),
            )
        )
        return [dict(row) for row in counted.order_by("clue__number", "revision")]


class Notice(models.Model):
    """One row per participant and event: the ledger of what was sent."""

    class Event(models.TextChoices):
        CLUE_OUT = "clue-out", "a clue is out"
        ERRATA = "errata", "a clue was put right"

    participant = models.ForeignKey(Participant, models.CASCADE, related_name="notices")
    clue = models.ForeignKey(Clue, models.CASCADE, related_name="notices")
    event = models.CharField(max_length=8, choices=Event)
    revision = models.PositiveIntegerField(
        default=0, help_text="Number of the errata told; 0 when the clue came out."
    )
    message_id = models.CharField(max_length=120, unique=True)
    created_at = models.DateTimeField(auto_now_add=True)
    try_after = models.DateTimeField()
    attempts = models.PositiveSmallIntegerField(default=0)
    claim = models.CharField(max_length=32, blank=True, editable=False)
    claimed_until = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    gave_up_at = models.DateTimeField(null=True, blank=True)
    error = models.CharField(max_length=300, blank=True)

    objects = NoticeQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["participant", "clue", "event", "revision"], name="one_notice_per_event"
            ),
        ]
        indexes = [
            models.Index(
                fields=["try_after"],
                condition=Q(sent_at=None, gave_up_at=None),
                name="notices_to_send",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.event} of {self.clue} to {self.participant}"
