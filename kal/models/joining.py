from __future__ import annotations

import secrets
from datetime import datetime, timedelta

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Exists, F, OuterRef, Q
from django.utils.translation import gettext_lazy as _

from kal.models.knit_along import KnitAlong
from kal.models.participant import Participant


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


# Our choice: a weekend, and the working days for a second pair of eyes; whoever needs longer still
# has the file, while here it is addresses of people who have agreed to nothing yet.
WAITS_FOR = timedelta(days=7)


def new_code() -> str:
    return "".join(secrets.choice(CODE_LETTERS) for _ in range(CODE_LENGTH))


def tidy_code(typed: str) -> str:
    """Return a typed code as it is stored: capitals, without spaces, dashes or other signs."""
    return "".join(sign for sign in typed.upper() if sign.isalnum())


class CodeBatch(models.Model):
    """Single-use codes made together, to be printed as cards or handed to a shop as a list."""

    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="code_batches")
    label = models.CharField(max_length=80)
    expires_at = models.DateTimeField(null=True, blank=True)
    made_at = models.DateTimeField()
    cancelled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at", "-pk"]
        verbose_name_plural = _("code batches")

    def __str__(self) -> str:
        return self.label


class JoinCode(models.Model):
    """A code that admits people to a knit-along; `most_uses` empty means without limit."""

    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="join_codes")
    code = models.CharField(max_length=20, unique=True, default=new_code, editable=False)
    batch = models.ForeignKey(
        CodeBatch, models.CASCADE, null=True, blank=True, related_name="codes"
    )
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
                violation_error_message=_("That code has been used up."),
            ),
            models.CheckConstraint(
                condition=Q(batch=None) | Q(most_uses=1), name="codes_of_a_batch_are_single_use"
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


class BuyersImportQuerySet(models.QuerySet["BuyersImport"]):
    def waiting(self) -> BuyersImportQuerySet:
        """Those that were looked at, and to which nobody has said yes."""
        return self.filter(confirmed_at=None)


class BuyersImport(models.Model):
    """A buyers' file as it was read: first to be looked at, then on the list, or taken back.

    `rows` holds address, name and order reference of each buyer until it is confirmed.
    """

    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="buyers_imports")
    file_name = models.CharField(max_length=120)
    rows = models.JSONField(default=list, blank=True)
    faults = models.JSONField(default=list, blank=True)
    added = models.PositiveIntegerField(default=0)
    read_at = models.DateTimeField()
    confirmed_at = models.DateTimeField(null=True, blank=True)
    undone_at = models.DateTimeField(null=True, blank=True)

    objects = BuyersImportQuerySet.as_manager()

    class Meta:
        ordering = ["-read_at", "-pk"]

    def __str__(self) -> str:
        return self.file_name

    @property
    def goes_at(self) -> datetime:
        """When it is deleted with its addresses unless somebody says yes to it."""
        return self.read_at + WAITS_FOR


class JoinListEntryQuerySet(models.QuerySet["JoinListEntry"]):
    def with_use(self) -> JoinListEntryQuerySet:
        """Each with `is_used`: whether somebody of that address takes part, or ever did."""
        return self.annotate(is_used=Exists(_of_that_address()))

    def unused(self) -> JoinListEntryQuerySet:
        return self.filter(~Exists(_of_that_address()))


def _of_that_address() -> models.QuerySet[Participant]:
    return Participant.objects.filter(
        knit_along=OuterRef("knit_along"), user__email=OuterRef("email")
    )


class JoinListEntry(models.Model):
    """A mail address that may join a knit-along whose rule is the list.

    With `is_transferred` it admits by whichever rule, and after sign-up too: the place was another
    address's before.
    """

    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="join_list")
    buyers_import = models.ForeignKey(
        BuyersImport, models.SET_NULL, null=True, blank=True, related_name="entries"
    )
    email = models.EmailField(_("mail address"))
    name = models.CharField(max_length=80, blank=True)
    order_reference = models.CharField(max_length=60, blank=True)
    is_transferred = models.BooleanField(default=False)
    added_at = models.DateTimeField(auto_now_add=True)

    objects = JoinListEntryQuerySet.as_manager()

    class Meta:
        ordering = ["email"]
        constraints = [
            models.UniqueConstraint(fields=["knit_along", "email"], name="one_entry_per_address"),
        ]

    def __str__(self) -> str:
        return self.email
