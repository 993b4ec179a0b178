"""What is known of a yarn wherever it is stored: in a draft or in a registered palette."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from palettes.colour.families import shade_of
from palettes.colour.ladder import LightnessWord, lightness_word
from palettes.colour.spaces import Lab, grey_hex, lab_to_hex
from palettes.colour.swatch import Swatch
from palettes.colour.wording import LIGHTNESS, colour_words
from palettes.fibre import read_fibre
from palettes.translator import READERS_LANGUAGE

# The least amount that is more than nothing at the precision kept.
SMALLEST = Decimal("0.001")


class DyeStyle(models.TextChoices):
    SOLID = "solid", _("solid")
    SEMI_SOLID = "semi-solid", _("semi-solid")
    TONAL = "tonal", _("tonal")
    SPECKLED = "speckled", _("speckled")
    VARIEGATED = "variegated", _("variegated")


class Construction(models.TextChoices):
    SINGLE = "single", _("single ply")
    TWO_PLY = "two-ply", _("two-ply")
    MANY_PLY = "many-ply", _("three or more plies")
    CABLED = "cabled", _("cabled")
    CHAINETTE = "chainette", _("chainette")
    HALO = "halo", _("with a halo (mohair, brushed)")
    UNKNOWN = "", _("not sure")


class Care(models.TextChoices):
    MACHINE = "machine", _("machine wash (superwash)")
    HAND = "hand", _("hand wash")
    DRY = "dry", _("dry clean")
    UNKNOWN = "", _("not sure")


class MeasuredBy(models.TextChoices):
    PICKER = "picker", _("chosen by eye")
    PHOTO = "photo", _("picked from a photo")


class YarnFacts(models.Model):
    """Name, make-up, put-up and colour of one yarn.

    Colour in CIE L*a*b*, D65, 2 degree observer. Put-up in grams and metres, to a thousandth so
    that an amount typed in ounces or yards comes back as it was typed.
    """

    name = models.CharField(_("yarn name"), max_length=120)
    fibre = models.CharField(
        max_length=120,
        blank=True,
        help_text=_("As on the ball band, like “75 % wool, 25 % nylon”."),
    )
    construction = models.CharField(
        max_length=10, choices=Construction, default=Construction.UNKNOWN, blank=True
    )
    care = models.CharField(max_length=8, choices=Care, default=Care.UNKNOWN, blank=True)
    dye_style = models.CharField(max_length=10, choices=DyeStyle, default=DyeStyle.SOLID)
    put_up_grams = models.DecimalField(
        _("grams in one ball"),
        max_digits=8,
        decimal_places=3,
        null=True,
        blank=True,
        validators=[MinValueValidator(SMALLEST), MaxValueValidator(2000)],
    )
    put_up_metres = models.DecimalField(
        _("metres in one ball"),
        max_digits=9,
        decimal_places=3,
        null=True,
        blank=True,
        validators=[MinValueValidator(SMALLEST), MaxValueValidator(20000)],
    )
    balls = models.DecimalField(
        _("balls you have"),
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
        help_text=_("Mean CIEDE2000 of the yarn's own colours from their mean; 0 if not measured."),
    )
    measured_by = models.CharField(max_length=8, choices=MeasuredBy, default=MeasuredBy.PICKER)

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(
                condition=Q(lab_l__gte=0, lab_l__lte=100),
                name="%(class)s_lightness_in_range",
                violation_error_message=_("Lightness must be between 0 and 100."),
            ),
            models.CheckConstraint(
                condition=Q(balls__gte=0),
                name="%(class)s_balls_not_negative",
                violation_error_message=_("The number of balls cannot be less than zero."),
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
        """The plain word below the family: white, cream, beige, grey or black for a neutral."""
        return shade_of(self.lab)

    @property
    def lightness_in_words(self) -> str:
        """Light, medium or dark, in the reader's language."""
        return gettext(LIGHTNESS[self.lightness])

    @property
    def colour_words(self) -> str:
        """The colour in words, like 'dark blue, near purple' or 'light neutral, cream'."""
        return colour_words(self.lightness, self.family_names, self.shade, READERS_LANGUAGE)

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
