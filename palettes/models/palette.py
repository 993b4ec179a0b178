from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from django.db import models

from kal.models import Participant, User

if TYPE_CHECKING:
    from palettes.models.kit import Kit
    from palettes.models.registration import Registration
    from palettes.models.yarn_facts import YarnFacts


class PaletteQuerySet(models.QuerySet["Palette"]):
    def owned_by(self, user: User) -> PaletteQuerySet:
        return self.filter(participant__user=user, participant__left_at=None)


class Palette(models.Model):
    """One participant's yarns for one knit-along: the draft, as they go on changing it.

    What others see is the latest Registration, an unchanging copy of the chosen yarns.
    """

    participant = models.OneToOneField(Participant, models.CASCADE, related_name="palette")
    updated_at = models.DateTimeField(auto_now=True)
    kit = models.ForeignKey(
        "palettes.Kit", models.SET_NULL, null=True, blank=True, related_name="palettes"
    )

    objects = PaletteQuerySet.as_manager()

    def __str__(self) -> str:
        return f"palette of {self.participant}"

    @property
    def registration(self) -> Registration | None:
        """The registration others see now, or None while the palette is a draft."""
        return self.registrations.filter(is_current=True).first()

    def kit_still_in(self, chosen: Iterable[YarnFacts]) -> Kit | None:
        """The kit the palette came from, while one of its yarns is still among the chosen."""
        if self.kit is None:
            return None
        of_kit = {(yarn.name, yarn.lab) for yarn in self.kit.yarns.all()}
        return self.kit if any((yarn.name, yarn.lab) in of_kit for yarn in chosen) else None
