from __future__ import annotations

from datetime import datetime

from django.db import models

from kal.models import Participant
from schedule.models.clue import Clue


class NoticeQuerySet(models.QuerySet["Notice"]):
    def unsent(self, now: datetime) -> NoticeQuerySet:
        """Notices still to be tried at `now`, oldest first."""
        return self.filter(sent_at=None, gave_up_at=None, try_after__lte=now).order_by("pk")


class Notice(models.Model):
    """One row per participant and event: the ledger of what was sent."""

    class Event(models.TextChoices):
        CLUE_OUT = "clue-out", "a clue is out"
        ERRATA = "errata", "a clue was put right"

    participant = models.ForeignKey(Participant, models.CASCADE, related_name="notices")
    clue = models.ForeignKey(Clue, models.CASCADE, related_name="notices")
    event = models.CharField(max_length=8, choices=Event)
    message_id = models.CharField(max_length=120, unique=True)
    created_at = models.DateTimeField(auto_now_add=True)
    try_after = models.DateTimeField()
    attempts = models.PositiveSmallIntegerField(default=0)
    claimed_until = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    gave_up_at = models.DateTimeField(null=True, blank=True)
    error = models.CharField(max_length=300, blank=True)

    objects = NoticeQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["participant", "clue", "event"], name="one_notice_per_event"
            ),
        ]
        indexes = [
            models.Index(
                fields=["try_after"],
                condition=models.Q(sent_at=None, gave_up_at=None),
                name="notices_to_send",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.event} of {self.clue} to {self.participant}"
