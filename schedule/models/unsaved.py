from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from schedule.models.clue import Clue


class UnsavedWords(models.Model):
    """What one author has typed into a clue and not saved: no revision, and nobody else's to see.

    `fields` maps the names of the form's boxes to the list of what each of them sends.
    """

    clue = models.ForeignKey(Clue, models.CASCADE, related_name="unsaved")
    author = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    fields = models.JSONField()
    began_from = models.PositiveIntegerField()
    kept_at = models.DateTimeField()

    class Meta:
        verbose_name_plural = _("unsaved words")
        constraints = [
            models.UniqueConstraint(fields=["clue", "author"], name="one_unsaved_text_each"),
        ]

    def __str__(self) -> str:
        return f"unsaved words of {self.author} for {self.clue}"
