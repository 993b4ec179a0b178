from __future__ import annotations

from datetime import datetime

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q

from kal.models.knit_along import KnitAlong


class JoinCodeQuerySet(models.QuerySet["JoinCode"]):
    def usable(self, now: datetime) -> JoinCodeQuerySet:
        """Codes that still admit somebody: not expired, not used up, not withdrawn."""
        return self.filter(
            Q(expires_at=None) | Q(expires_at__gt=now),
            Q(most_uses=None) | Q(uses__lt=F("most_uses")),
            withdrawn_at=None,
        )


class JoinCode(models.Model):
    """A code that admits people to a knit-along; `most_uses` empty means without limit."""

    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="join_codes")
    code = models.CharField(max_length=20, unique=True)
    label = models.CharField(max_length=80, blank=True)
    most_uses = models.PositiveIntegerField(
        null=True, blank=True, default=1, validators=[MinValueValidator(1)]
    )
    uses = models.PositiveIntegerField(default=0)
    expires_at = models.DateTimeField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    objects = JoinCodeQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(most_uses=None) | Q(uses__lte=F("most_uses")),
                name="join_code_not_overused",
                violation_error_message="That code has been used up.",
            ),
        ]

    def __str__(self) -> str:
        return self.code


class JoinListEntry(models.Model):
    """A mail address that may join a knit-along whose rule is the list."""

    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="join_list")
    email = models.EmailField("mail address")
    added_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["email"]
        constraints = [
            models.UniqueConstraint(fields=["knit_along", "email"], name="one_entry_per_address"),
        ]

    def __str__(self) -> str:
        return self.email
