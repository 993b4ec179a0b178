from __future__ import annotations

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from kal.models import KnitAlong, Participant

# Grams: the step that a scale reads in, and a tenth of an ounce for scales that show those.
DIVISIONS = ("0.1", "1", "2", "2.83", "5")


class OwnKnitting(models.Model):
    """How one participant knits: own needle, gauge and pace, and the step their scale reads in.

    Whatever is empty is as the knit-along has it, or not known.
    """

    participant = models.OneToOneField(Participant, models.CASCADE, related_name="own_knitting")
    needle_mm = models.DecimalField(
        max_digits=4,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(35)],
    )
    gauge_stitches = models.DecimalField(
        max_digits=4,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(2), MaxValueValidator(80)],
    )
    gauge_rows = models.DecimalField(
        max_digits=4,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(2), MaxValueValidator(160)],
    )
    per_minute = models.FloatField(
        "stitches a minute",
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(200)],
    )
    division = models.DecimalField(
        "grams to a step of the scale", max_digits=4, decimal_places=2, default=Decimal(1)
    )

    def __str__(self) -> str:
        return f"knitting of {self.participant}"


class YarnReserve(models.Model):
    """How much of the grams a knit-along asks for is reserve; no row means the usual tenth."""

    knit_along = models.OneToOneField(KnitAlong, models.CASCADE, related_name="yarn_reserve")
    percent = models.PositiveSmallIntegerField(default=10, validators=[MaxValueValidator(100)])

    def __str__(self) -> str:
        return f"{self.percent} % reserve"
