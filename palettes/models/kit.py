from __future__ import annotations

from urllib.parse import urlsplit

from django.core.validators import URLValidator
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from kal.models import KnitAlong, User
from palettes.models.named_yarn import NamedYarn


class KitMakerQuerySet(models.QuerySet["KitMaker"]):
    def standing(self, user: User) -> KitMakerQuerySet:
        """The standing invitations of somebody, whose mailbox it is as signing in has shown."""
        return self.filter(email=user.email, withdrawn_at=None)

    def invited(self, user: User, slug: str) -> KitMakerQuerySet:
        """The standing invitation of somebody to one knit-along."""
        return self.standing(user).filter(knit_along__slug=slug)


class KitMaker(models.Model):
    """A shop or dyer invited, by mail address, to propose kits; they see no clue."""

    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="kit_makers")
    email = models.EmailField(_("mail address"))
    name = models.CharField(_("name of the shop or dyer"), max_length=80)
    invited_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    objects = KitMakerQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint("knit_along", Lower("email"), name="one_kit_maker_per_address"),
        ]

    def __str__(self) -> str:
        return self.name


class KitQuerySet(models.QuerySet["Kit"]):
    def shown_in(self, knit_along: KnitAlong) -> KitQuerySet:
        """The kits that participants may adopt."""
        return self.filter(
            maker__knit_along=knit_along, maker__withdrawn_at=None, state=Kit.State.APPROVED
        )


class Kit(models.Model):
    """A ready palette that a shop or dyer proposes, and what they say about having it.

    Its yarns stand still once it is proposed; link and stock are the maker's own words and may
    change at any time, so they carry the day they were said.
    """

    class State(models.TextChoices):
        DRAFT = "draft", _("being put together")
        PROPOSED = "proposed", _("waiting for the organiser")
        APPROVED = "approved", _("shown to participants")
        DECLINED = "declined", _("declined")

    maker = models.ForeignKey(KitMaker, models.CASCADE, related_name="kits")
    title = models.CharField(_("name of the kit"), max_length=80)
    description = models.TextField(_("a few words about it"), max_length=600, blank=True)
    link = models.URLField(
        _("link to your own page of it"),
        max_length=300,
        blank=True,
        validators=[URLValidator(schemes=["http", "https"])],
    )
    stock = models.CharField(
        _("what you have of it"),
        max_length=160,
        blank=True,
        help_text=_("In your own words, like “eight left” or “dyed to order, three weeks”."),
    )
    said_at = models.DateTimeField(null=True, blank=True)
    state = models.CharField(max_length=8, choices=State, default=State.DRAFT)
    proposed_at = models.DateTimeField(null=True, blank=True)
    decided_at = models.DateTimeField(null=True, blank=True)
    reason = models.CharField(max_length=400, blank=True)

    objects = KitQuerySet.as_manager()

    class Meta:
        ordering = ["-decided_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(state="declined") | ~Q(reason=""), name="declined_with_a_reason"
            ),
            models.CheckConstraint(
                condition=Q(link="", stock="") | Q(said_at__isnull=False),
                name="what_is_said_is_dated",
            ),
        ]

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("palettes:kit", args=[self.maker.knit_along.slug, self.pk])

    @property
    def host(self) -> str:
        """The site that the link leads to, to be read before it is followed."""
        return (urlsplit(self.link).hostname or "") if self.link else ""

    @property
    def is_shown(self) -> bool:
        """Whether participants may adopt it; the same rule as KitQuerySet.shown_in."""
        return self.state == self.State.APPROVED and self.maker.withdrawn_at is None

    @property
    def may_change(self) -> bool:
        """Whether the maker may change its yarns and words now."""
        return self.state in (self.State.DRAFT, self.State.DECLINED)


class KitYarn(NamedYarn):
    """One yarn of a kit; `balls` is how many of them the kit holds."""

    kit = models.ForeignKey(Kit, models.CASCADE, related_name="yarns")
    position = models.PositiveSmallIntegerField(default=0)

    class Meta(NamedYarn.Meta):
        abstract = False
        ordering = ["position", "pk"]
