from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.core.validators import RegexValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from kal.models import KnitAlong, Participant
from palettes.models import Registration


class PlanOpening(models.Model):
    """The instant from which participants see the letter plan; no row, no plan."""

    knit_along = models.OneToOneField(KnitAlong, models.CASCADE, related_name="plan_opening")
    opens_at = models.DateTimeField(_("opens at"))

    def __str__(self) -> str:
        return f"letter plan of {self.knit_along}"

    def is_open(self, now: datetime) -> bool:
        return self.opens_at <= now


class LetterChoice(models.Model):
    """The letters a participant gave their registered yarns themselves, instead of the plan's.

    It stands for that registration, and for a later one with the same colours in the same order.
    """

    participant = models.OneToOneField(Participant, models.CASCADE, related_name="letter_choice")
    registration = models.ForeignKey(Registration, models.CASCADE, related_name="+")
    order = models.CharField(
        max_length=8,
        validators=[RegexValidator(r"^[0-7]{2,8}$")],
        help_text="Position of the yarn for A, B, C …, a digit each.",
    )
    chosen_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"letters of {self.participant}"

    @property
    def positions(self) -> tuple[int, ...]:
        """The position in the registration of the yarn for A, B, C …"""
        return tuple(map(int, self.order))


class PaletteNote(models.Model):
    """A kind word to one participant about pairs of letters that their palette does not tell apart.

    One for a registered palette and the same pairs, so that nobody is told the same thing twice.
    """

    registration = models.ForeignKey(Registration, models.CASCADE, related_name="notes")
    participant = models.ForeignKey(Participant, models.CASCADE, related_name="palette_notes")
    pairs = models.CharField(max_length=84, help_text="Pairs of letters, like “AB AD”.")
    body = models.TextField(help_text="The words as this participant reads them.")
    author = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+"
    )
    sent_at = models.DateTimeField()

    class Meta:
        ordering = ["-sent_at", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["registration", "pairs"], name="one_note_per_pairs"),
        ]

    def __str__(self) -> str:
        return f"note to {self.participant} about {self.pairs}"
