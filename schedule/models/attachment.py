from __future__ import annotations

import secrets
import uuid

from django.db import models
from django.db.models import F
from django.utils.translation import gettext_lazy as _

from schedule.models.clue import Clue


def attachment_path(attachment: Attachment, filename: str) -> str:
    """Return a storage path that tells neither the clue nor the file's name."""
    return f"clues/{secrets.token_hex(16)}"


class AttachmentQuerySet(models.QuerySet["Attachment"]):
    def in_newest_revision(self) -> AttachmentQuerySet:
        """Those that the newest revision of their clue shows."""
        return self.filter(revisions__key=F("clue__newest_key"))


class Attachment(models.Model):
    """A PDF or image of a clue, kept in private storage under a name that says nothing."""

    class Kind(models.TextChoices):
        PDF = "pdf", "PDF"
        IMAGE = "image", _("image")

    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    clue = models.ForeignKey(Clue, models.CASCADE, related_name="attachments")
    kind = models.CharField(max_length=5, choices=Kind)
    name = models.CharField(_("file name"), max_length=120)
    alt = models.CharField("description", max_length=300, blank=True)
    content_type = models.CharField(max_length=40)
    size = models.PositiveIntegerField(help_text="In bytes.")
    width = models.PositiveIntegerField(
        null=True, blank=True, help_text=_("Of an image, in pixels.")
    )
    height = models.PositiveIntegerField(null=True, blank=True)
    file = models.FileField(upload_to=attachment_path, max_length=80)
    uploaded_at = models.DateTimeField(auto_now_add=True)

    objects = AttachmentQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.name
