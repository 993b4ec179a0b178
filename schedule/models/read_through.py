from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.db import models

from kal.models import EARLY_READERS, Participant
from schedule.models.revision import Revision

LONGEST_QUOTE = 300


class ReaderCommentQuerySet(models.QuerySet["ReaderComment"]):
    def unresolved(self) -> ReaderCommentQuerySet:
        return self.filter(resolved_at=None)


class ReaderComment(models.Model):
    """What an early reader says of one line of a revision; the organiser answers and resolves.

    `section` and `way` are places counted from 1, and 0 for the opening text; `line` is counted
    in the Markdown as it was written. `quoted` is that line, for when a revision has changed it.
    """

    revision = models.ForeignKey(Revision, models.CASCADE, related_name="comments")
    reader = models.ForeignKey(Participant, models.CASCADE, related_name="reader_comments")
    section = models.PositiveSmallIntegerField(default=0)
    way = models.PositiveSmallIntegerField(default=0)
    line = models.PositiveIntegerField()
    quoted = models.CharField(max_length=LONGEST_QUOTE, blank=True)
    text = models.CharField(max_length=2_000)
    written_at = models.DateTimeField()
    answer = models.CharField(max_length=2_000, blank=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+"
    )
    resolved_at = models.DateTimeField(null=True, blank=True)

    objects = ReaderCommentQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.reader} on line {self.line} of {self.revision}"

    @property
    def place(self) -> tuple[int, int, int]:
        return self.section, self.way, self.line


class SignOff(models.Model):
    """An early reader's word that one revision is right; a later revision is not covered by it."""

    revision = models.ForeignKey(Revision, models.CASCADE, related_name="sign_offs")
    reader = models.ForeignKey(Participant, models.CASCADE, related_name="sign_offs")
    at = models.DateTimeField()

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["revision", "reader"], name="one_sign_off_each"),
        ]

    def __str__(self) -> str:
        return f"{self.reader} signed off {self.revision}"


def early_readers_of(knit_along: int) -> models.QuerySet[Participant]:
    """Return the people who read ahead but do not write: test knitters and technical editors."""
    reading = [role for role in EARLY_READERS if role != "organiser"]
    active = Participant.objects.active().filter(knit_along=knit_along, role__in=reading)
    return active.select_related("user")


def newest_sign_offs(clue: int) -> dict[int, tuple[int, datetime]]:
    """Return the newest revision that each reader, by primary key, signed off, and when."""
    rows = SignOff.objects.filter(revision__clue=clue).order_by("revision__number")
    found = rows.values_list("reader", "revision__number", "at")
    return {reader: (number, at) for reader, number, at in found}
