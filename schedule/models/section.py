from __future__ import annotations

import secrets

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _

from schedule.models.revision import Revision
from schedule.pattern.stitches import BindOff, CastOn, Part, Section, ShortRows, StitchRepeat

MAX_ROWS = 5_000


def new_key() -> str:
    """Return a name for a section or a way that stays with it from revision to revision."""
    return secrets.token_hex(4)


class ClueSection(models.Model):
    """One stretch of a clue under a heading of its own, with one way or more to knit it."""

    revision = models.ForeignKey(Revision, models.CASCADE, related_name="sections")
    position = models.PositiveSmallIntegerField()
    key = models.CharField(max_length=12, default=new_key, editable=False)
    title = models.CharField(max_length=120, blank=True)
    promises_choice = models.BooleanField(_("offers an easier way"), default=False)

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["revision", "position"], name="sections_in_order"),
        ]

    def __str__(self) -> str:
        return self.title or f"section {self.position}"


class Way(models.Model):
    """One way to knit a section, in Markdown: the plain way first, then the harder ones."""

    section = models.ForeignKey(ClueSection, models.CASCADE, related_name="ways")
    position = models.PositiveSmallIntegerField()
    key = models.CharField(max_length=12, default=new_key, editable=False)
    name = models.CharField(max_length=60, blank=True, help_text=_("Like “the plain way”."))
    technique = models.CharField(max_length=80, blank=True, help_text=_("Like “grafting”."))
    body = models.TextField(help_text="Markdown.")

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["section", "position"], name="ways_in_order"),
        ]

    def __str__(self) -> str:
        return self.name or f"way {self.position}"


class CountedPart(models.Model):
    """Rows of a section as numbers, for the arithmetic of `schedule.pattern.stitches`."""

    class Kind(models.TextChoices):
        CAST_ON = "cast-on", _("cast on")
        ROWS = "rows", _("rows")
        SHORT_ROWS = "short-rows", _("short rows")
        BIND_OFF = "bind-off", _("bind off")

    section = models.ForeignKey(ClueSection, models.CASCADE, related_name="parts")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=10, choices=Kind, default=Kind.ROWS)
    name = models.CharField(max_length=80, blank=True)
    start = models.PositiveIntegerField(
        _("stitches at the start"), help_text=_("Or the stitches that are cast on.")
    )
    rows = models.PositiveIntegerField(default=1, validators=[MaxValueValidator(MAX_ROWS)])
    changes = models.JSONField(
        default=list,
        blank=True,
        help_text=_("Stitches more or fewer in each row, coming round in turn."),
    )
    worked = models.JSONField(
        default=list,
        blank=True,
        help_text=_("Of short rows: the stitches that each of them works."),
    )
    letters = models.CharField(
        max_length=40, default="A", help_text=_("Colour letters row by row, coming round in turn.")
    )
    repeat_stitches = models.PositiveIntegerField(
        null=True, blank=True, validators=[MinValueValidator(1)]
    )
    repeat_edge = models.PositiveIntegerField(default=0)
    repeat_rows = models.PositiveIntegerField(default=1, validators=[MinValueValidator(1)])
    states_end = models.PositiveIntegerField(
        _("stitches the text promises at the end"), null=True, blank=True
    )

    class Meta:
        ordering = ["section__position", "position"]
        constraints = [
            models.UniqueConstraint(fields=["section", "position"], name="parts_in_order"),
            models.CheckConstraint(
                condition=Q(rows__lte=MAX_ROWS),
                name="parts_of_a_human_length",
                violation_error_message=format_lazy(
                    _("A part has at most {max_rows} rows."), max_rows=MAX_ROWS
                ),
            ),
        ]

    def __str__(self) -> str:
        return self.name or str(self.get_kind_display())

    def as_part(self) -> Part:
        """Return the rows as the arithmetic reads them; BadCount or BadRepeat if they cannot be."""
        name = self.name or f"{self.section}, {self.get_kind_display()}"
        if self.kind == self.Kind.CAST_ON:
            return CastOn(name, self.start, self.letters)
        if self.kind == self.Kind.BIND_OFF:
            return BindOff(name, self.start, self.letters)
        if self.kind == self.Kind.SHORT_ROWS:
            return ShortRows(name, self.start, tuple(self.worked), self.letters)
        return Section(
            name=name,
            start=self.start,
            rows=self.rows,
            changes=tuple(self.changes) or (0,),
            letters=self.letters,
            repeat=self._repeat(),
            states_end=self.states_end,
        )

    def _repeat(self) -> StitchRepeat | None:
        if self.repeat_stitches is None:
            return None
        return StitchRepeat(self.repeat_stitches, self.repeat_edge, self.repeat_rows)
