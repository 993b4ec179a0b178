from __future__ import annotations

from django.core.validators import URLValidator
from django.db import models

from schedule.models.revision import Revision


class VideoLink(models.Model):
    """A film that shows a technique, on another site: linked by name, never fetched by our page."""

    revision = models.ForeignKey(Revision, models.CASCADE, related_name="videos")
    position = models.PositiveSmallIntegerField()
    title = models.CharField(max_length=120)
    url = models.URLField("address", max_length=500, validators=[URLValidator(schemes=["https"])])

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["revision", "position"], name="videos_in_order"),
        ]

    def __str__(self) -> str:
        return self.title
