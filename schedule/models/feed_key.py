from __future__ import annotations

import secrets

from django.db import models
from django.db.models import F

from kal.models import Participant


class FeedKeyQuerySet(models.QuerySet["FeedKey"]):
    def standing(self) -> FeedKeyQuerySet:
        """Those made since their participant joined, the last time."""
        return self.filter(made_at__gte=F("participant__joined_at"))

    def opening(self, slug: str, token: str) -> FeedKeyQuerySet:
        """The key with that token, of somebody who takes part in that knit-along today.

        Not one from before they left: it may have been left behind on purpose. None of an archived
        knit-along: nothing in it will move any more.
        """
        return (
            self.standing()
            .filter(
                token=token,
                participant__knit_along__slug=slug,
                participant__in=Participant.objects.active(),
                participant__user__is_active=True,
                participant__knit_along__archived_at=None,
            )
            .select_related("participant__user", "participant__knit_along")
        )


def new_feed_token() -> str:
    return secrets.token_urlsafe(24)  # 192 bits, beyond guessing


class FeedKey(models.Model):
    """The secret in the addresses of one participant's calendar and news feed.

    It opens those two and nothing else, and a new one takes its place when it got about.
    """

    participant = models.OneToOneField(Participant, models.CASCADE, related_name="feed_key")
    token = models.CharField(max_length=40, unique=True, default=new_feed_token, editable=False)
    made_at = models.DateTimeField()

    objects = FeedKeyQuerySet.as_manager()

    def __str__(self) -> str:
        return f"feed key of {self.participant}"
