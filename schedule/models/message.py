from __future__ import annotations

from django.conf import settings
from django.db import models

from kal.models import KnitAlong


class Message(models.Model):
    """Words that a notice carries to one participant or to many, as they were written once.

    `{name}` in subject or body stands for a value of the recipient's own, kept on their notice.
    """

    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="messages")
    key = models.CharField(max_length=120, help_text="What makes a second one the same message.")
    kind = models.CharField(max_length=24)
    subject = models.CharField(max_length=200)
    body = models.TextField(help_text="Plain text; an empty line begins a paragraph.")
    languages = models.JSONField(
        default=dict,
        blank=True,
        help_text="Subject and body by language, of words that are the site's own.",
    )
    path = models.CharField(max_length=300, blank=True, help_text="The page to read on, if any.")
    author = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+"
    )
    created_at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["knit_along", "key"], name="one_message_per_key"),
        ]

    def words_in(self, language: str) -> tuple[str, str]:
        """Return subject and body in that language, or as written when nobody put them into it."""
        subject, body = self.languages.get(language, (self.subject, self.body))
        return subject, body

    def __str__(self) -> str:
        return self.subject
