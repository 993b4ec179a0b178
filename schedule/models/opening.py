from __future__ import annotations

from django.db import models

from kal.models import Participant
from schedule.models.revision import Revision


class Opening(models.Model):
    """A participant has opened this revision of a clue; written once, so that errata find them."""

    participant = models.ForeignKey(Participant, models.CASCADE, related_name="openings")
    revision = models.ForeignKey(Revision, models.CASCADE, to_field="key", related_name="openings")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["revision", "participant"], name="one_opening_per_revision"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.participant} opened {self.revision}"
