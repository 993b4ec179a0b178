from __future__ import annotations

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from kal.models import KnitAlong
from palettes.colour import letters
from palettes.colour.contrast import Grade
from schedule.models.clue import Clue
from schedule.models.revision import Revision


class MeetingQuerySet(models.QuerySet["Meeting"]):
    def in_newest_revisions(self, knit_along: KnitAlong) -> MeetingQuerySet:
        """Those that the knit-along's clues hold now, of letters it has, clue by clue."""
        return (
            self.filter(
                revision__clue__knit_along=knit_along,
                revision__key=F("revision__clue__newest_key"),
                first__in=list(knit_along.letters),
                second__in=list(knit_along.letters),
            )
            .select_related("revision__clue")
            .order_by("revision__clue__number", "first", "second", "pk")
        )


class Meeting(models.Model):
    """Two colour letters worked side by side somewhere in a clue, and the contrast that needs."""

    class Needs(models.TextChoices):
        STRONG = Grade.STRONG, _("strong contrast")
        WORKABLE = Grade.WORKABLE, _("workable contrast")
        CLOSE = Grade.CLOSE, _("close will do")

    revision = models.ForeignKey(Revision, models.CASCADE, related_name="meetings")
    first = models.CharField("letter", max_length=1)
    second = models.CharField(_("and letter"), max_length=1)
    technique = models.CharField(
        max_length=80, blank=True, help_text=_("Like “two-row stripes” or “slipped stitches”.")
    )
    needs = models.CharField(max_length=8, choices=Needs, default=Needs.WORKABLE)

    objects = MeetingQuerySet.as_manager()

    class Meta:
        ordering = ["first", "second", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["revision", "first", "second", "technique"],
                name="one_meeting_per_technique",
                violation_error_message=_("These two letters meet in that technique already."),
            ),
            models.CheckConstraint(
                condition=Q(first__lt=F("second")),
                name="meeting_letters_in_order",
                violation_error_message=_("A letter cannot meet itself; name two letters."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.first} and {self.second}"

    def as_meeting(self) -> letters.Meeting:
        """Return the meeting as the colour core reads it."""
        return letters.Meeting(self.first, self.second, Grade(self.needs))

    @property
    def clue(self) -> Clue:
        return self.revision.clue
