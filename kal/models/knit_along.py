from __future__ import annotations

import zoneinfo
from datetime import datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from kal.yarn_weights import yarn_weight_choices
from kal.zones import validate_zone

if TYPE_CHECKING:
    from kal.models.user import User

LETTERS = "ABCDEFGH"
MIN_COLOURS, MAX_COLOURS = 2, len(LETTERS)


class KnitAlongQuerySet(models.QuerySet["KnitAlong"]):
    def public(self) -> KnitAlongQuerySet:
        """Those whose public page a visitor may see."""
        return self.filter(is_public=True)

    def seen_by(self, user: User) -> KnitAlongQuerySet:
        """Those that are public or that the person takes part in now."""
        taking_part = Q(participants__user=user, participants__left_at=None)
        return self.filter(Q(is_public=True) | taking_part).distinct()


class KnitAlong(models.Model):
    """One year's event: what to bring, when to sign up, and when it starts."""

    class JoinRule(models.TextChoices):
        OPEN = "open", _("anyone may join")
        CODE = "code", _("with a join code")
        LIST = "list", _("only mail addresses on the list")

    slug = models.SlugField(max_length=60, unique=True)
    title = models.CharField(max_length=120)
    theme = models.TextField(blank=True, help_text=_("What a visitor may know before cast-on."))
    zone = models.CharField(_("time zone"), max_length=64, validators=[validate_zone])
    colour_count = models.PositiveSmallIntegerField(
        _("number of colours"),
        default=5,
        validators=[MinValueValidator(MIN_COLOURS), MaxValueValidator(MAX_COLOURS)],
    )
    yarn_weight = models.PositiveSmallIntegerField(choices=yarn_weight_choices, default=1)
    needle_mm = models.DecimalField(
        _("needle in mm"),
        max_digits=4,
        decimal_places=2,
        default=Decimal("3.5"),
        validators=[MinValueValidator(1), MaxValueValidator(35)],
    )
    gauge_stitches = models.DecimalField(
        _("stitches to 10 cm"),
        max_digits=4,
        decimal_places=1,
        default=24,
        validators=[MinValueValidator(2), MaxValueValidator(80)],
    )
    gauge_rows = models.DecimalField(
        _("rows to 10 cm"),
        max_digits=4,
        decimal_places=1,
        default=44,
        validators=[MinValueValidator(2), MaxValueValidator(160)],
    )
    sign_up_opens_at = models.DateTimeField(_("sign-up opens"))
    sign_up_closes_at = models.DateTimeField(_("sign-up closes"))
    cast_on_at = models.DateTimeField(
        "cast-on", help_text=_("The instant the first clue goes out.")
    )
    clue_count = models.PositiveSmallIntegerField(
        _("number of clues"), default=5, validators=[MinValueValidator(1), MaxValueValidator(30)]
    )
    cadence_days = models.PositiveSmallIntegerField(
        _("days between clues"), default=7, validators=[MinValueValidator(1), MaxValueValidator(60)]
    )
    join_rule = models.CharField(max_length=4, choices=JoinRule, default=JoinRule.OPEN)
    is_public = models.BooleanField(_("public page is open"), default=False)
    palettes_closed_at = models.DateTimeField(null=True, blank=True)
    archived_at = models.DateTimeField(null=True, blank=True)
    # Empty: as KAL_ERASE_LEFT_AFTER says; 0: never.
    erase_left_after = models.PositiveSmallIntegerField(
        _("days after which the data of those who left is erased"), null=True, blank=True
    )
    created_at = models.DateTimeField(auto_now_add=True)

    objects = KnitAlongQuerySet.as_manager()

    class Meta:
        ordering = ["-cast_on_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(colour_count__gte=MIN_COLOURS, colour_count__lte=MAX_COLOURS),
                name="colour_count_in_range",
                violation_error_message=_("A knit-along has 2 to 8 colours."),
            ),
            models.CheckConstraint(
                condition=Q(sign_up_opens_at__lt=models.F("sign_up_closes_at")),
                name="sign_up_opens_before_it_closes",
                violation_error_message=_("Sign-up must open before it closes."),
            ),
        ]

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("kal:knitalong", args=[self.slug])

    @property
    def tz(self) -> zoneinfo.ZoneInfo:
        return zoneinfo.ZoneInfo(self.zone)

    @property
    def letters(self) -> str:
        """The colour letters of this knit-along, 'ABCDE' for five."""
        return LETTERS[: self.colour_count]

    @property
    def cadence(self) -> timedelta:
        return timedelta(days=self.cadence_days)

    def is_sign_up_open(self, now: datetime) -> bool:
        return self.sign_up_opens_at <= now < self.sign_up_closes_at

    def are_dates_known(self, now: datetime) -> bool:
        """Whether people may have planned by its dates: its page is open, or sign-up has been."""
        return self.is_public or self.sign_up_opens_at <= now

    def are_palettes_open(self, now: datetime) -> bool:
        return self.palettes_closed_at is None or now < self.palettes_closed_at


class LetterNeed(models.Model):
    """How much yarn one colour letter of a knit-along needs, in grams and metres."""

    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="needs")
    letter = models.CharField(max_length=1)
    grams = models.DecimalField(
        max_digits=6, decimal_places=1, default=100, validators=[MinValueValidator(1)]
    )
    metres = models.DecimalField(
        max_digits=7, decimal_places=1, default=400, validators=[MinValueValidator(1)]
    )

    class Meta:
        ordering = ["letter"]
        constraints = [
            models.UniqueConstraint(fields=["knit_along", "letter"], name="one_need_per_letter"),
            models.CheckConstraint(
                condition=Q(grams__gt=0, metres__gt=0),
                name="letter_need_positive",
                violation_error_message=_("Grams and metres must be more than zero."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.letter}: {self.grams} g, {self.metres} m"
