from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.text import format_lazy
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from kal.models import Participant
from schedule.models.clue import Clue

MOST_GRAMS = 5_000  # our choice: fifty balls of one colour


class WeighIn(models.Model):
    """Grams of one letter that were left at a place in the pattern, by kitchen scale.

    Without a clue it was before casting on. Inside a clue the place is the `row` that was done
    last, or where rows are not counted a `share` of the clue; `bought` is all there ever was.
    """

    participant = models.ForeignKey(Participant, models.CASCADE, related_name="weigh_ins")
    letter = models.CharField(max_length=1)
    clue = models.ForeignKey(Clue, models.CASCADE, null=True, blank=True, related_name="weigh_ins")
    row = models.PositiveIntegerField(null=True, blank=True)
    share = models.DecimalField(
        max_digits=3,
        decimal_places=2,
        default=1,
        validators=[MinValueValidator(0), MaxValueValidator(1)],
    )
    left = models.DecimalField(_("grams left"), max_digits=8, decimal_places=3)
    bought = models.DecimalField(_("grams bought in all"), max_digits=8, decimal_places=3)
    division = models.DecimalField(
        _("grams to a step of the scale"), max_digits=4, decimal_places=2, default=1
    )
    at = models.DateTimeField()

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(left__gte=0, left__lte=MOST_GRAMS),
                name="weigh_in_grams_left_possible",
                violation_error_message=format_lazy(
                    _("Grams left are 0 to {most_grams}."), most_grams=MOST_GRAMS
                ),
            ),
            models.CheckConstraint(
                condition=Q(bought__gt=0, bought__lte=MOST_GRAMS),
                name="weigh_in_grams_bought_possible",
                violation_error_message=format_lazy(
                    _("Grams bought are more than 0, up to {most_grams}."), most_grams=MOST_GRAMS
                ),
            ),
            models.CheckConstraint(
                condition=Q(share__gte=0, share__lte=1),
                name="weigh_in_share_of_a_clue",
                violation_error_message=_("The share of a clue is between 0 and 1."),
            ),
        ]
        indexes = [models.Index(fields=["participant", "at"], name="weigh_ins_of_a_participant")]

    def __str__(self) -> str:
        return gettext("{left} g of {letter} left").format(left=self.left, letter=self.letter)
