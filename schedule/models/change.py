from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from kal.models import KnitAlong
from schedule.models.clue import Clue


class ScheduleChangeQuerySet(models.QuerySet["ScheduleChange"]):
    def told(self) -> ScheduleChangeQuerySet:
        """Those that anybody who sees the schedule may know of, oldest first."""
        return self.filter(is_public=True).order_by("at", "pk")


class ScheduleChange(models.Model):
    """One clue's change of place in the schedule: what, from when to when, by whom and why.

    It outlives its clue, so that a calendar can still call a removed clue off.
    """

    class Kind(models.TextChoices):
        ADDED = "added", _("added")
        MOVED = "moved", _("moved")
        HELD = "held", _("held back")
        LET_GO = "let-go", _("let go")
        REMOVED = "removed", _("removed")
        RENUMBERED = "renumbered", _("given another number")

    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="schedule_changes")
    clue = models.ForeignKey(Clue, models.SET_NULL, null=True, related_name="changes")
    clue_key = models.PositiveBigIntegerField(help_text="The clue's primary key, kept for good.")
    number = models.PositiveSmallIntegerField(help_text="The clue's number before the change.")
    kind = models.CharField(max_length=10, choices=Kind)
    before_at = models.DateTimeField()
    after_at = models.DateTimeField(null=True, blank=True)
    reason = models.CharField(max_length=300, blank=True)
    actor = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField()
    is_public = models.BooleanField(
        default=False, help_text="Made while the schedule was known, so participants are told."
    )

    objects = ScheduleChangeQuerySet.as_manager()

    class Meta:
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["knit_along", "at"], name="schedule_changes_in_order")]

    def __str__(self) -> str:
        return f"clue {self.number} {self.get_kind_display()} at {self.at:%Y-%m-%d %H:%M} UTC"
