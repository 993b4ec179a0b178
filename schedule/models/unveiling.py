from __future__ import annotations

from django.db import models
from django.db.models import Q

from kal.models import Participant
from schedule.models.post import Post
from schedule.models.question import Question

ONE_OF_TWO = Q(post=None, question__isnull=False) | Q(post__isnull=False, question=None)


class Unveiling(models.Model):
    """A participant said "show me" to one covered post, or to one question with its answers."""

    participant = models.ForeignKey(Participant, models.CASCADE, related_name="unveilings")
    post = models.ForeignKey(Post, models.CASCADE, null=True, related_name="unveilings")
    question = models.ForeignKey(Question, models.CASCADE, null=True, related_name="unveilings")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=ONE_OF_TWO, name="unveiling_is_of_one_thing"),
            models.UniqueConstraint(fields=["participant", "post"], name="one_unveiling_per_post"),
            models.UniqueConstraint(
                fields=["participant", "question"], name="one_unveiling_per_question"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.participant} saw {self.post or self.question}"
