from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import models
from django.db.models import Count, Q

from kal.models import KnitAlong, Participant
from schedule.models.clue import Clue
from schedule.models.message import Message
from schedule.notices.kinds import KINDS, Kind, kind_named

UNASKED = [kind.name for kind in KINDS.values() if not kind.obeys_wish]


class NoticeQuerySet(models.QuerySet["Notice"]):
    def unsent(self, now: datetime) -> NoticeQuerySet:
        """Notices to be tried at `now`, oldest first; of a clue only while it is out.

        One that a process has claimed is left to it until the claim runs out.
        """
        waiting = self.filter(sent_at=None, gave_up_at=None, try_after__lte=now)
        unclaimed = Q(claimed_until=None) | Q(claimed_until__lte=now)
        tellable = Q(clue=None) | Q(clue__in=Clue.objects.out(now))
        return waiting.filter(unclaimed, tellable).order_by("pk")

    def of_knit_along(self, knit_along: KnitAlong) -> NoticeQuerySet:
        return self.filter(participant__knit_along=knit_along)

    def for_mail(self) -> NoticeQuerySet:
        """With everything that the mail says, oldest first."""
        # Thousands share a clue and a knit-along: fetched once they are one object for all.
        shared = ("participant__knit_along", "clue", "message")
        return self.select_related("participant__user").prefetch_related(*shared).order_by("pk")

    def given_up(self) -> NoticeQuerySet:
        """Those that failed for good, of people who are still to have them."""
        wanting = Q(participant__in=Participant.objects.wanting_notices())
        unasked = Q(kind__in=UNASKED, participant__in=Participant.objects.active())
        return self.filter(wanting | unasked, gave_up_at__isnull=False)

    def troubled(self) -> NoticeQuerySet:
        """Unsent ones whose last try failed, given up or not."""
        return self.filter(sent_at=None).exclude(error="")

    def counted_by_event(self) -> list[dict[str, Any]]:
        """Return what each notice is about, and how many were sent, wait, or stopped.

        About: kind, clue number and errata revision, or the subject of a message.
        """
        counted = (
            self.order_by()
            .values("clue__number", "kind", "revision", "message", "message__subject")
            .annotate(
                sent=Count("pk", filter=Q(sent_at__isnull=False)),
                waiting=Count("pk", filter=Q(sent_at=None, gave_up_at=None)),
                stopped=Count("pk", filter=Q(gave_up_at__isnull=False)),
            )
        )
        ordered = counted.order_by("message", "clue__number", "revision")
        return [row | {"label": kind_named(row["kind"]).label} for row in ordered]


class Notice(models.Model):
    """One row per participant and event: the ledger of what was sent.

    It tells of a clue that is out or was put right, or carries a message; never both.
    """

    participant = models.ForeignKey(Participant, models.CASCADE, related_name="notices")
    kind = models.CharField(max_length=24, help_text="A name out of schedule.notices.kinds.")
    clue = models.ForeignKey(Clue, models.CASCADE, null=True, blank=True, related_name="notices")
    revision = models.PositiveIntegerField(
        default=0, help_text="Number of the errata told; 0 when the clue came out."
    )
    message = models.ForeignKey(
        Message, models.CASCADE, null=True, blank=True, related_name="notices"
    )
    merge = models.JSONField(
        default=dict, blank=True, help_text="The recipient's own values for {names} in the message."
    )
    mail_id = models.CharField(
        max_length=120, unique=True, help_text="Its Message-ID, the same however often it is sent."
    )
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
                fields=["participant", "clue", "kind", "revision"], name="one_notice_per_event"
            ),
            models.UniqueConstraint(
                fields=["participant", "message"], name="one_notice_per_message"
            ),
            models.CheckConstraint(
                condition=Q(clue=None, message__isnull=False) | Q(clue__isnull=False, message=None),
                name="notices_of_clue_or_message",
            ),
        ]
        indexes = [
            models.Index(
                fields=["try_after"],
                condition=Q(sent_at=None, gave_up_at=None),
                name="notices_to_send",
            ),
            models.Index(
                fields=["gave_up_at"],
                condition=Q(gave_up_at__isnull=False),
                name="notices_given_up",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} of {self.clue or self.message} to {self.participant}"

    @property
    def is_wanted(self) -> bool:
        """Whether this participant is still to have it: needs the rows `for_mail` brings."""
        kind, person = self.of_kind, self.participant
        if person.left_at is not None or not person.user.is_active:
            return False
        if kind.for_early_readers and not person.reads_early:
            return False
        return person.wants_notices or not kind.obeys_wish

    @property
    def of_kind(self) -> Kind:
        return kind_named(self.kind)
