from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models
from django.utils.translation import gettext, gettext_noop
from django.utils.translation import gettext_lazy as _

from kal.errors import Archived
from kal.models.knit_along import KnitAlong

if TYPE_CHECKING:
    from kal.models.user import User


# PostgreSQL keeps the parts of a detail in an order of its own; a reader wants who, what, how.
TOLD_FIRST = ("person", "clue", "before", "after", "from_instant", "to_instant", "why")
# What an organiser may still do to a knit-along that is archived.
EVEN_ARCHIVED = (
    gettext_noop("archived it"),
    gettext_noop("took it out of the archive"),
    gettext_noop("changed how long data is kept"),
)
ROW_NUMBERS = ("participant", "code")
# What a detail may hold that are words of ours; everything else in it is somebody's own.
AS_THE_SITE_SAYS = gettext_noop("as the site says")
SOMEBODY_ERASED = gettext_noop("somebody who was erased")
OWN_WORDS = (AS_THE_SITE_SAYS, SOMEBODY_ERASED)


def place_of(part: tuple[str, str | int]) -> tuple[int, str]:
    name = part[0]
    return (TOLD_FIRST.index(name) if name in TOLD_FIRST else len(TOLD_FIRST), name)


# A part of a detail by its name, as the log shows it; another is shown by its name as it is.
DETAIL_NAMES = {
    "person": _("person"),
    "clue": _("clue"),
    "before": _("before"),
    "after": _("after"),
    "from_instant": _("from instant"),
    "to_instant": _("to instant"),
    "why": _("why"),
    "count": _("count"),
    "label": _("label"),
    "address": _("address"),
    "fields": _("fields"),
    "revision": _("revision"),
    "bytes": _("bytes"),
    "notices": _("notices"),
}


def _detail_name(name: str) -> str:
    return str(DETAIL_NAMES.get(name, name.replace("_", " ")))


class AuditEntryQuerySet(models.QuerySet["AuditEntry"]):
    def record(
        self, knit_along: KnitAlong, act: str, *, by: User, at: datetime, **detail: str | int
    ) -> AuditEntry:
        """Store one act, in words like 'closed the palettes'; call it where the act is done.

        Archived when the knit-along is: whichever way an act was reached, it is undone by that.
        """
        if knit_along.archived_at and act not in EVEN_ARCHIVED:
            raise Archived(gettext("This knit-along is archived, so nothing in it is changed."))
        return self.create(knit_along=knit_along, actor=by, act=act, detail=detail, at=at)


class AuditEntry(models.Model):
    """One act of an organiser: who did what to which knit-along, and when."""

    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="audit_log")
    actor = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+"
    )
    act = models.CharField(max_length=60)
    detail = models.JSONField(default=dict, blank=True)
    at = models.DateTimeField()

    objects = AuditEntryQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        verbose_name_plural = _("audit entries")

    @property
    def act_in_words(self) -> str:
        """The act in the reader's language; it is stored in the source language."""
        return gettext(self.act)

    @property
    def detail_in_words(self) -> list[tuple[str, str | int]]:
        """What the act was about, for show: without the numbers of rows and what is empty."""
        told = [
            (name, gettext(str(value)) if value in OWN_WORDS else value)
            for name, value in self.detail.items()
            if value != "" and name not in ROW_NUMBERS
        ]
        return [(_detail_name(name), value) for name, value in sorted(told, key=place_of)]

    def __str__(self) -> str:
        return f"{self.act} at {self.at:%Y-%m-%d %H:%M} UTC"
