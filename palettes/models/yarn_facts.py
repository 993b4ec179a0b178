"""What is known of a yarn wherever it is stored: in a draft or in a registered palette."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from palettes.colour.families import shade_of
from palettes.colour.ladder import LightnessWord, lightness_word
from palettes.colour.spaces import Lab, grey_hex, lab_to_hex
from palettes.colour.swatch import Swatch
from palettes.fibre import read_fibre

# The least amount that is more than nothing at the precision kept.
SMALLEST = Decimal("0.001")


class DyeStyle(models.TextChoices):
    SOLID = "solid", "solid"
    SEMI_SOLID = "semi-solid", "semi-solid"
    TONAL = "tonal", "tonal"
    SPECKLED = "speckled", "speckled"
    VARIEGATED = "variegated", "variegated"


class Construction(models.TextChoices):
    SINGLE = "single", "single ply"
    TWO_PLY = "two-ply", "two-ply"
    MANY_PLY = "many-ply", "three or more plies"
    CABLED = "cabled", "cabled"
    CHAINETTE = "chainette", "chainette"
    HALO = "halo", "with a halo (mohair, brushed)"
    UNKNOWN = "", "not sure"


class Care(models.TextChoices):
    MACHINE = "machine", "machine wash (superwash)"
    HAND = "hand", "hand wash"
    DRY = "dry", "dry clean"
    UNKNOWN = "", "not sure"


class MeasuredBy(models.TextChoices):
    PICKER = "picker", "chosen by eye"
    PHOTO = "photo", "picked from a photo"


class YarnFacts(models.Model):
    """Name, make-up, put-up and colour of one yarn.

    Colour in CIE L*a*b*, D65, 2 degree observer. Put-up in grams and metres, to a thousandth so
    that an amount typed in ounces or yards comes back as it was typed.
    """

    name = models.CharField("yarn name", max_length=120)
    fibre = models.CharField(
        max_length=120, blank=True, help_text="As on the ball band, like “75 % wool, 25 % nylon”."
    )
    construction = models.CharField(
        max_length=10, choices=Construction, default=Construction.UNKNOWN, blank=True
    )
    care = models.CharField(max_length=8, choices=Care, default=Care.UNKNOWN, blank=True)
    dye_style = models.CharField(max_length=10, choices=DyeStyle, default=DyeStyle.SOLID)
    put_up_grams = models.DecimalField(
        "grams in one ball",
        max_digits=8,
        decimal_places=3,
        null=True,
        blank=True,
        validators=[MinValueValidator(SMALLEST), MaxValueValidator(2000)],
    )
    put_up_metres = models.DecimalField(
        "metres in one ball",
        max_digits=9,
        decimal_places=3,
        null=True,
        blank=True,
        validators=[MinValueValidator(SMALLEST), MaxValueValidator(20000)],
    )
    balls = models.DecimalField(
        "balls you have",
        max_digits=5,
        decimal_places=2,
        default=1,
        validators=[MinValueValidator(0), MaxValueValidator(200)],
    )
    lab_l = models.FloatField()
    lab_a = models.FloatField()
    lab_b = models.FloatField()
    spread = models.FloatField(
        default=0,
        help_text="Mean CIEDE2000 of the yarn's own colours from their mean; 0 if not measured.",
    )
    measured_by = models.CharField(max_length=8, choices=MeasuredBy, default=MeasuredBy.PICKER)

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(
                condition=Q(lab_l__gte=0, lab_l__lte=100),
                name="%(class)s_lightness_in_range",
                violation_error_message="Lightness must be between 0 and 100.",
            ),
            models.CheckConstraint(
                condition=Q(balls__gte=0),
                name="%(class)s_balls_not_negative",
                violation_error_message="The number of balls cannot be less than zero.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def lab(self) -> Lab:
        return Lab(self.lab_l, self.lab_a, self.lab_b)

    @lab.setter
    def lab(self, lab: Lab) -> None:
        self.lab_l, self.lab_a, self.lab_b = lab

    @property
    def hex(self) -> str:
        """The colour on a screen, as '#rrggbb'."""
        return lab_to_hex(self.lab)

    @property
    def grey_hex(self) -> str:
        """The grey a greyscale photo would show."""
        return grey_hex(self.lab)

    @property
    def lightness(self) -> LightnessWord:
        return lightness_word(self.lab_l)

    @property
    def family_names(self) -> Sequence[str]:
        """The families the colour belongs to, nearest first, one or two."""
        raise NotImplementedError

    @property
    def shade(self) -> str:
        """The plain word below the family: white, cream, grey or black for a neutral."""
        return shade_of(self.lab)

    @property
    def colour_words(self) -> str:
        """The colour in words, like 'dark blue, near purple' or 'light neutral, cream'."""
        first, *second = self.family_names
        shade = self.shade
        detail = f", {shade}" if shade != first else ""
        return f"{self.lightness} {first}{detail}{''.join(f', near {name}' for name in second)}"

    def facts(self) -> tuple[object, ...]:
        """Everything a registration copies of the yarn, for telling whether it has changed."""
        return tuple(getattr(self, name) for name in FACT_NAMES)

    def swatch(self) -> Swatch:
        """The yarn as the colour core reads it."""
        return Swatch(
            name=self.name,
            lab=self.lab,
            spread=self.spread,
            dye_style=self.dye_style,
            fibre=read_fibre(self.fibre),
            care=self.care or None,
            put_up_grams=_float(self.put_up_grams),
            put_up_metres=_float(self.put_up_metres),
            balls=float(self.balls),
        )


def _float(amount: Decimal | None) -> float | None:
    return None if amount is None else float(amount)


FACT_NAMES = tuple(field.name for field in YarnFacts._meta.local_fields)
