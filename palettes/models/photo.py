from __future__ import annotations

import secrets

from django.db import models

from kal.models import Participant


def photo_path(photo: Photo, filename: str) -> str:
    """Return a storage path that tells nothing of the person or the uploaded file's name."""
    return f"photos/{secrets.token_hex(16)}.webp"


class Photo(models.Model):
    """A participant's photo of their yarns: upright sRGB pixels and nothing else of the upload."""

    participant = models.ForeignKey(Participant, models.CASCADE, related_name="photos")
    image = models.FileField(upload_to=photo_path, max_length=80)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    uploaded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-uploaded_at", "-pk"]

    def __str__(self) -> str:
        return f"photo {self.pk}, {self.width} by {self.height}"
