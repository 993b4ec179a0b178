"""What posts, questions and answers have in common: words of one participant that may be hidden."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models

LONGEST_WORDS = 2_000
LONGEST_REASON = 500


class Contribution(models.Model):
    """Words of a participant; `hidden_at` is set while only they and those who moderate see it.

    Addresses name it by `key`: a running number would tell how much early readers have written.
    """

    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    words = models.CharField(max_length=LONGEST_WORDS, blank=True)
    at = models.DateTimeField()
    hidden_at = models.DateTimeField(null=True, blank=True)
    hidden_why = models.CharField(max_length=LONGEST_REASON, blank=True)
    hidden_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        abstract = True

    @property
    def is_hidden(self) -> bool:
        return self.hidden_at is not None
