from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from kal.models import Participant
from schedule.models.contribution import LONGEST_REASON
from schedule.models.post import Post
from schedule.models.question import Answer, Question

type Thing = Post | Question | Answer
"""What may be reported and hidden."""

ABOUT = ("post", "question", "answer")
ONE_OF_THREE = (
    Q(post__isnull=False, question=None, answer=None)
    | Q(post=None, question__isnull=False, answer=None)
    | Q(post=None, question=None, answer__isnull=False)
)


class Report(models.Model):
    """A member's word that a post, question or answer should be looked at; open until settled."""

    class Outcome(models.TextChoices):
        OPEN = "", _("open")
        HIDDEN = "hidden", _("hidden")
        DISMISSED = "dismissed", _("dismissed")

    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    reporter = models.ForeignKey(Participant, models.CASCADE, related_name="reports")
    post = models.ForeignKey(Post, models.CASCADE, null=True, related_name="reports")
    question = models.ForeignKey(Question, models.CASCADE, null=True, related_name="reports")
    answer = models.ForeignKey(Answer, models.CASCADE, null=True, related_name="reports")
    reason = models.CharField(max_length=LONGEST_REASON)
    at = models.DateTimeField()
    outcome = models.CharField(max_length=9, choices=Outcome, blank=True, default=Outcome.OPEN)
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(condition=ONE_OF_THREE, name="report_is_about_one_thing"),
            *(
                models.UniqueConstraint(
                    fields=["reporter", about],
                    condition=Q(outcome=""),
                    name=f"one_open_report_of_{about}_each",
                )
                for about in ABOUT
            ),
        ]

    def __str__(self) -> str:
        return f"report {self.pk} of {self.thing}"

    @property
    def thing(self) -> Thing:
        found = self.post or self.question or self.answer
        assert found is not None
        return found


class PostingBlock(models.Model):
    """A participant may not post, ask or answer, from `at` until `lifted_at`."""

    participant = models.ForeignKey(Participant, models.CASCADE, related_name="posting_blocks")
    why = models.CharField(max_length=LONGEST_REASON)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+"
    )
    at = models.DateTimeField()
    lifted_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["participant"],
                condition=Q(lifted_at=None),
                name="one_posting_block_at_a_time",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.participant} is blocked: {self.why}"
