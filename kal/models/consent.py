from __future__ import annotations

from datetime import datetime

from django.db import models
from django.utils.translation import gettext_lazy as _

from kal.models.participant import Participant


class ConsentQuerySet(models.QuerySet["Consent"]):
    def note(self, participant: Participant, *, at: datetime) -> None:
        """Write down what the participant's wishes are now, where that is not their last word."""
        last = self.standing(participant)
        self.bulk_create(
            Consent(participant=participant, purpose=purpose, is_given=is_given, at=at)
            for purpose, is_given in wishes_of(participant).items()
            if is_given != (purpose in last and last[purpose].is_given)
        )

    def standing(self, participant: Participant) -> dict[str, Consent]:
        """Return the last word on each purpose that there was any on."""
        return {one.purpose: one for one in self.filter(participant=participant).order_by("pk")}


class Consent(models.Model):
    """A participant's yes or no to one purpose, and when: each change is a row of its own."""

    class Purpose(models.TextChoices):
        MAIL = "mail", _("mail about the knit-along")
        GALLERY = "gallery", _("your palette in the gallery, with the name you go by")
        PHOTOS = "photos", _("photos you post, shown by the organiser elsewhere")

    participant = models.ForeignKey(Participant, models.CASCADE, related_name="consents")
    purpose = models.CharField(max_length=8, choices=Purpose)
    is_given = models.BooleanField()
    at = models.DateTimeField()

    objects = ConsentQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["participant", "purpose"], name="consents_by_purpose")]

    def __str__(self) -> str:
        return f"{self.purpose}: {'yes' if self.is_given else 'no'}"


def wishes_of(participant: Participant) -> dict[str, bool]:
    """Return what the participant agrees to now, by purpose."""
    return {
        Consent.Purpose.MAIL: participant.wants_notices,
        Consent.Purpose.GALLERY: participant.shows_palette,
        Consent.Purpose.PHOTOS: participant.lends_photos,
    }
