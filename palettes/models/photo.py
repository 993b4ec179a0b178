from __future__ import annotations

import secrets

from django.db import models
from django.utils.translation import gettext_lazy as _

from kal.models import Participant


def photo_path(photo: PrivatePhoto, filename: str) -> str:
    """Return a storage path that tells nothing of the person or the uploaded file's name."""
    return f"photos/{secrets.token_hex(16)}.webp"


# CSS pixels: as wide as a phone's column, since without script the page cannot tell the server
# how large it shows a photo that is clicked.
SHOWN_WIDTH = 340


class PrivatePhoto(models.Model):
    """A photo to measure yarns in, for its owner's eyes alone."""

    image = models.FileField(upload_to=photo_path, max_length=80)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    is_light_trusted = models.BooleanField(
        default=False,
        help_text=_("Read as it is though its light looks wrong, by its owner's word."),
    )
    uploaded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        abstract = True
        ordering = ["-uploaded_at", "-pk"]

    def __str__(self) -> str:
        return f"photo {self.pk}, {self.width} by {self.height}"

    @property
    def shown_width(self) -> int:
        """The width the photo is shown at where no script runs, in CSS pixels."""
        return SHOWN_WIDTH

    @property
    def shown_height(self) -> int:
        return max(1, round(SHOWN_WIDTH * self.height / self.width))


class Photo(PrivatePhoto):
    """A participant's photo of their yarns: upright sRGB pixels and nothing else of the upload."""

    participant = models.ForeignKey(Participant, models.CASCADE, related_name="photos")

    class Meta(PrivatePhoto.Meta):
        abstract = False
