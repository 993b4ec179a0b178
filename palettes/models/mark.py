from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from palettes.models.box import BoxField
from palettes.models.photo import Photo
from palettes.models.yarn import Yarn
from palettes.models.yarn_facts import DyeStyle


class MarkQuerySet[M: BoxMark](models.QuerySet[M]):
    def of_yarn(self) -> MarkQuerySet[M]:
        return self.filter(kind=BoxMark.Kind.YARN)

    def of_white(self) -> MarkQuerySet[M]:
        return self.exclude(kind=BoxMark.Kind.YARN)


class BoxMark(models.Model):
    """A box in a photo. A draft: what is measured in it goes onto a yarn when its owner says so."""

    class Kind(models.TextChoices):
        YARN = "yarn", _("a yarn")
        PAPER = "paper", _("white paper")
        GREY_CARD = "grey-card", _("a grey card")

    kind = models.CharField(max_length=9, choices=Kind, default=Kind.YARN)
    box = BoxField()
    is_new = models.BooleanField(default=False, help_text=_("Whether it is to become a new yarn."))
    new_name = models.CharField(max_length=120, blank=True)
    dye_style = models.CharField(
        max_length=10, choices=DyeStyle, blank=True, help_text=_("Empty: as it looks.")
    )

    # Of the `yarn` that each kind of mark has.
    yarn_id: int | None

    class Meta:
        abstract = True
        ordering = ["pk"]

    @property
    def has_target(self) -> bool:
        return self.is_new or self.yarn_id is not None


class Mark(BoxMark):
    """A box marked in a photo: the white paper or grey card, or a yarn and whose it is."""

    photo = models.ForeignKey(Photo, models.CASCADE, related_name="marks")
    yarn = models.ForeignKey(Yarn, models.SET_NULL, null=True, blank=True, related_name="marks")

    objects = MarkQuerySet["Mark"].as_manager()

    class Meta(BoxMark.Meta):
        abstract = False
        constraints = [
            models.UniqueConstraint(
                fields=["photo"], condition=~Q(kind="yarn"), name="one_white_per_photo"
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} in photo {self.photo_id}"
