from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from kal.models.knit_along import KnitAlong


class Erasure(models.Model):
    """All that remains of somebody who was erased: that there was one, and no word of whom."""

    class Why(models.TextChoices):
        OWN_WISH = "own", _("at their own wish")
        TIME_UP = "time", _("some time after they had left")

    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="erasures")
    why = models.CharField(max_length=4, choices=Why)
    had_palette = models.BooleanField()
    at = models.DateTimeField()

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"erased {self.get_why_display()}"
