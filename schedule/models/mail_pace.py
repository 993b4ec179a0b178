from django.db import models


class MailPace(models.Model):
    """One row: when the next mail may go, shared by every process that sends."""

    next_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"next mail at {self.next_at:%Y-%m-%d %H:%M:%S} UTC"
