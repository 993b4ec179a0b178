from __future__ import annotations

from collections.abc import Iterable

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from kal.models import KnitAlong
from palettes.models.palette import Palette
from palettes.models.yarn import Yarn
from palettes.models.yarn_facts import YarnFacts


class Run(models.TextChoices):
    """How light or dark a palette runs, taken all together."""

    LIGHT = "light", _("runs light")
    BALANCED = "balanced", _("balanced")
    DARK = "dark", _("runs dark")


# Mean L* of the chosen yarns. Our choice: a full ladder from a black to an undyed white averages
# near 53, so a palette within 7.5 of that is balanced; beyond it one end of the ladder is missing.
RUNS_LIGHT_FROM, RUNS_DARK_BELOW = 60.0, 45.0


def run_of(mean_lightness: float) -> Run:
    """Return how a palette with this mean L* runs."""
    if mean_lightness >= RUNS_LIGHT_FROM:
        return Run.LIGHT
    return Run.DARK if mean_lightness < RUNS_DARK_BELOW else Run.BALANCED


class Registration(models.Model):
    """An unchanging copy of a palette at the moment its owner registered it.

    Later changes make a new registration; the older ones stay as the palette's history.
    """

    palette = models.ForeignKey(Palette, models.CASCADE, related_name="registrations")
    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="registrations")
    number = models.PositiveIntegerField()
    is_current = models.BooleanField(default=True)
    mean_lightness = models.FloatField()
    registered_at = models.DateTimeField()
    kit = models.ForeignKey(
        "palettes.Kit", models.SET_NULL, null=True, blank=True, related_name="registrations"
    )

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(fields=["palette", "number"], name="registrations_numbered"),
            models.UniqueConstraint(
                fields=["palette"], condition=Q(is_current=True), name="one_current_registration"
            ),
        ]

    def __str__(self) -> str:
        return f"registration {self.number} of {self.palette}"

    @property
    def run(self) -> Run:
        return run_of(self.mean_lightness)

    @property
    def chosen(self) -> list[RegisteredYarn]:
        """The chosen yarns in order, one a colour letter."""
        return [yarn for yarn in self.yarns.all() if not yarn.is_spare]

    @property
    def spares(self) -> list[RegisteredYarn]:
        return [yarn for yarn in self.yarns.all() if yarn.is_spare]

    def is_copy_of(self, chosen: Iterable[YarnFacts], spares: Iterable[YarnFacts]) -> bool:
        """Whether these yarns, in this order, are what was registered."""
        return is_copy(self.yarns.all(), chosen, spares)


def registrable(yarns: Iterable[Yarn]) -> tuple[list[Yarn], list[Yarn]]:
    """Return the chosen yarns and the spares of a draft: all that a registration copies."""
    all_ = list(yarns)
    chosen = [yarn for yarn in all_ if yarn.place == Yarn.Place.CHOSEN]
    return chosen, [yarn for yarn in all_ if yarn.place == Yarn.Place.SPARE]


def is_copy(
    registered: Iterable[RegisteredYarn], chosen: Iterable[YarnFacts], spares: Iterable[YarnFacts]
) -> bool:
    """Whether a registration's yarns are these, in this order."""
    all_ = list(registered)
    return _facts(chosen) == _facts(yarn for yarn in all_ if not yarn.is_spare) and _facts(
        spares
    ) == _facts(yarn for yarn in all_ if yarn.is_spare)


def _facts(yarns: Iterable[YarnFacts]) -> list[tuple[object, ...]]:
    return [yarn.facts() for yarn in yarns]


class RegisteredYarnQuerySet(models.QuerySet["RegisteredYarn"]):
    def for_a_strip(self) -> RegisteredYarnQuerySet:
        """The chosen yarns, with no more of them than their colours in words and on a screen."""
        return self.filter(is_spare=False).only(
            *("registration", "position", "is_spare", "lab_l"),
            *("family", "second_family", "shade_word", "screen_hex"),
        )


class RegisteredYarn(YarnFacts):
    """One yarn of a registration: chosen ones carry positions from 0 and letters, spares follow.

    Its families, shade and screen colour are worked out once, when it is registered: a page of
    the gallery shows over a hundred yarns.
    """

    registration = models.ForeignKey(Registration, models.CASCADE, related_name="yarns")
    position = models.PositiveSmallIntegerField()
    is_spare = models.BooleanField(default=False)
    family = models.CharField(max_length=10)
    second_family = models.CharField(max_length=10, blank=True)
    shade_word = models.CharField(max_length=10)
    screen_hex = models.CharField(max_length=7)

    objects = RegisteredYarnQuerySet.as_manager()

    class Meta(YarnFacts.Meta):
        abstract = False
        ordering = ["position", "pk"]
        constraints = [
            *YarnFacts.Meta.constraints,
            models.UniqueConstraint(
                fields=["registration", "position"], name="one_yarn_per_position"
            ),
        ]

    @property
    def family_names(self) -> list[str]:
        return [name for name in (self.family, self.second_family) if name]

    @property
    def shade(self) -> str:
        return self.shade_word

    @property
    def hex(self) -> str:
        return self.screen_hex
