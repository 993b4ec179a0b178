from __future__ import annotations

import secrets
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


# Without 0 O 1 I L 2 Z 5 S 8 B U V, which are mistaken for one another by eye or by ear.
CODE_LETTERS = "ACDEFGHJKMNPQRTWXY34679"
CODE_LENGTH = 8  # 23 ** 8 is 78 thousand million, so guessing is hopeless; our choice


def new_code() -> str:
    return "".join(secrets.choice(CODE_LETTERS) for _ in range(CODE_LENGTH))


def tidy_code(typed: str) -> str:
    """Return a typed code as it is stored: capitals, without spaces, dashes or other signs."""
    return "".join(sign for sign in typed.upper() if sign.isalnum())


class JoinCode(models.Model):
    """A code that admits people to a knit-along; `most_uses` empty means without limit."""

    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="join_codes")
    code = models.CharField(max_length=20, unique=True, default=new_code, editable=False)
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
        return self.spaced

    @property
    def spaced(self) -> str:
        """The code in groups of four, easier to read out and to type."""
        return "-".join(self.code[i : i + 4] for i in range(0, len(self.code), 4))

    @property
    def is_used_up(self) -> bool:
        return self.most_uses is not None and self.uses >= self.most_uses

    def is_expired(self, now: datetime) -> bool:
        return self.expires_at is not None and self.expires_at <= now


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
