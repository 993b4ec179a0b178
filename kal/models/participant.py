from __future__ import annotations

import secrets

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from kal.models.knit_along import KnitAlong


class Role(models.TextChoices):
    """What a person may do in one knit-along."""

    ORGANISER = "organiser", _("organiser")
    CO_ORGANISER = "co", _("co-organiser (reads clues early)")
    MODERATOR = "moderator", _("moderator")
    PARTICIPANT = "participant", _("participant")


EARLY_READERS = (Role.ORGANISER, Role.CO_ORGANISER)
MODERATORS = (Role.ORGANISER, Role.MODERATOR)


class Removal(models.TextChoices):
    """Why an organiser ended a membership."""

    SENT_AWAY = "sent-away", _("sent away")
    REFUNDED = "refunded", _("refunded")
    TRANSFERRED = "transferred", _("place moved to another address")


class ParticipantQuerySet(models.QuerySet["Participant"]):
    def active(self) -> ParticipantQuerySet:
        return self.filter(left_at=None)

    def knitting(self) -> ParticipantQuerySet:
        """Those who knit along, which is what the desk counts: all but hosts without a palette.

        A host may knit along too, and is counted once their palette is begun (`palettes.Palette`).
        """
        return self.active().exclude(role=Role.ORGANISER, palette__isnull=True)

    def organisers(self) -> ParticipantQuerySet:
        return self.active().filter(role=Role.ORGANISER)

    def named(self, words: str) -> ParticipantQuerySet:
        """People whose name or mail address has `words` in it; everyone for no words."""
        if not words:
            return self
        return self.filter(Q(user__name__icontains=words) | Q(user__email__icontains=words))

    def wanting_notices(self) -> ParticipantQuerySet:
        return self.active().filter(wants_notices=True, user__is_active=True)


def new_token() -> str:
    return secrets.token_urlsafe(24)


class Participant(models.Model):
    """One person in one knit-along, with their role and what they agreed to."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="memberships")
    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="participants")
    role = models.CharField(max_length=12, choices=Role, default=Role.PARTICIPANT)
    shows_palette = models.BooleanField(
        _("show my palette in the gallery"),
        default=False,
        help_text=_("Other participants see your yarns and the name you go by, nothing else."),
    )
    wants_notices = models.BooleanField(_("mail me when a clue is out"), default=True)
    lends_photos = models.BooleanField(
        _("the organiser may show photos I post elsewhere, like in a newsletter"), default=False
    )
    harder_way_first = models.BooleanField(
        default=False,
        help_text=_("Where a clue has several ways: the last of them is shown first."),
    )
    chosen_ways = models.JSONField(
        default=dict, blank=True, help_text="The key of a way by the key of its section."
    )
    token = models.CharField(max_length=40, unique=True, default=new_token, editable=False)
    joined_at = models.DateTimeField(auto_now_add=True)
    left_at = models.DateTimeField(null=True, blank=True)
    removed_at = models.DateTimeField(
        null=True,
        blank=True,
        help_text=_("An organiser sent this person away; they cannot rejoin."),
    )
    removal = models.CharField(max_length=11, choices=Removal, blank=True)
    removal_reason = models.CharField(max_length=200, blank=True)

    objects = ParticipantQuerySet.as_manager()

    class Meta:
        ordering = ["joined_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["user", "knit_along"], name="one_membership_each"),
            models.CheckConstraint(
                condition=Q(removed_at=None) | Q(left_at__isnull=False),
                name="removed_people_have_left",
            ),
        ]

    def __str__(self) -> str:
        return str(self.user)

    @property
    def is_organiser(self) -> bool:
        return self.role == Role.ORGANISER

    @property
    def role_name(self) -> str:
        """The role in words, without what it may do."""
        return str(self.get_role_display()).partition(" (")[0]

    @property
    def reads_early(self) -> bool:
        """Whether this person may read clues before their instant."""
        return self.role in EARLY_READERS

    @property
    def moderates(self) -> bool:
        """Whether this person looks at reports and may hide what others wrote."""
        return self.role in MODERATORS
