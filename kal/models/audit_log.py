from django.conf import settings
from django.db import models

from kal.models.knit_along import KnitAlong


class AuditEntry(models.Model):
    """One act of an organiser: who did what to which knit-along, and when."""

    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="audit_log")
    actor = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+"
    )
    act = models.CharField(max_length=60)
    detail = models.JSONField(default=dict, blank=True)
    at = models.DateTimeField()

    class Meta:
        ordering = ["-at", "-pk"]
        verbose_name_plural = "audit entries"

    def __str__(self) -> str:
        return f"{self.act} at {self.at:%Y-%m-%d %H:%M} UTC"
