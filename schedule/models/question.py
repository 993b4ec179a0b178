from __future__ import annotations

from django.db import models

from kal.models import Participant
from schedule.models.clue import Clue
from schedule.models.contribution import Contribution


class Question(Contribution):
    """What a participant asks about a clue; `in_notes` is the answer shown with the clue itself."""

    author = models.ForeignKey(Participant, models.CASCADE, related_name="questions")
    clue = models.ForeignKey(Clue, models.CASCADE, related_name="questions")
    in_notes = models.ForeignKey(
        "schedule.Answer", models.SET_NULL, null=True, blank=True, related_name="+"
    )

    is_open: bool  # only where `schedule.covers` read it: whether its viewer needs no cover
    answer_count: int  # only where a list counted them

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [
            models.Index(fields=["clue", "-at"], name="questions_of_clue_newest_first"),
        ]

    def __str__(self) -> str:
        return f"question {self.pk} about {self.clue}"


class Answer(Contribution):
    author = models.ForeignKey(Participant, models.CASCADE, related_name="answers")
    question = models.ForeignKey(Question, models.CASCADE, related_name="answers")

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return f"answer {self.pk} to {self.question}"

    @property
    def clue(self) -> Clue:
        return self.question.clue
