"""A participant's own secret addresses of their calendar and feed."""

from datetime import datetime

from kal.models import Participant
from schedule.models import FeedKey
from schedule.models.feed_key import new_feed_token


def renew_feed_key(participant: Participant, *, now: datetime) -> FeedKey:
    """Give the participant addresses nobody has seen; those they had answer no more."""
    key, _ = FeedKey.objects.update_or_create(
        participant=participant, defaults={"token": new_feed_token(), "made_at": now}
    )
    return key


def drop_feed_key(participant: Participant) -> None:
    """Let the participant's addresses answer no more."""
    FeedKey.objects.filter(participant=participant).delete()
