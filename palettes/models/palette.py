from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import models

from kal.models import Participant, User

if TYPE_CHECKING:
    from palettes.models.registration import Registration


class PaletteQuerySet(models.QuerySet["Palette"]):
    def owned_by(self, user: User) -> PaletteQuerySet:
        return self.filter(participant__user=user, participant__left_at=None)


class Palette(models.Model):
    """One participant's yarns for one knit-along: the draft, as they go on changing it.

    What others see is the latest Registration, an unchanging copy of the chosen yarns.
    """

    participant = models.OneToOneField(Participant, models.CASCADE, related_name="palette")
    updated_at = models.DateTimeField(auto_now=True)

    objects = PaletteQuerySet.as_manager()

    def __str__(self) -> str:
        return f"palette of {self.participant}"

    @property
    def registration(self) -> Registration | None:
        """The registration others see now, or None while the palette is a draft."""
        return self.registrations.filter(is_current=True).first()
