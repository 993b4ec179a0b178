from __future__ import annotations

from django.db import models
from django.db.models import Q

from palettes.models.kit import Kit, KitYarn
from palettes.models.mark import BoxMark, Mark, MarkQuerySet
from palettes.models.photo import Photo, PrivatePhoto


class KitPhoto(PrivatePhoto):
    """A maker's photo of the yarns of one kit, for the maker alone; its colours go onto the kit."""

    kit = models.ForeignKey(Kit, models.CASCADE, related_name="photos")

    class Meta(PrivatePhoto.Meta):
        abstract = False


class KitMark(BoxMark):
    """A box marked in a photo of a kit: white paper or a grey card, or one of the kit's yarns."""

    photo = models.ForeignKey(KitPhoto, models.CASCADE, related_name="marks")
    yarn = models.ForeignKey(KitYarn, models.SET_NULL, null=True, blank=True, related_name="marks")

    objects = MarkQuerySet["KitMark"].as_manager()

    class Meta(BoxMark.Meta):
        abstract = False
        constraints = [
            models.UniqueConstraint(
                fields=["photo"], condition=~Q(kind="yarn"), name="one_white_per_kit_photo"
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} in kit photo {self.photo_id}"


type AnyPhoto = Photo | KitPhoto
type AnyMark = Mark | KitMark
