"""What a participant or organiser may send about letters."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kal.forms.wall_time import WallTimeField
from kal.models import KnitAlong
from kal.wall_times import NoSuchWallTime, instant_of
from palettes.models.yarn_facts import YarnFacts


class LettersForm(forms.Form):
    """A yarn for each letter; its fields are named by the letters themselves."""

    def __init__(
        self, *args: Any, letters: str, yarns: Sequence[YarnFacts], order: Sequence[int], **kw: Any
    ) -> None:
        super().__init__(*args, **kw)
        self.letters, self.yarns = letters, yarns
        choices = [(place, yarn.name) for place, yarn in enumerate(yarns)]
        for letter, place in zip(letters, order, strict=True):
            self.fields[letter] = forms.TypedChoiceField(
                label=letter, choices=choices, coerce=int, initial=place
            )

    def clean(self) -> dict[str, Any]:
        letters_of: dict[int, list[str]] = {}
        for letter in self.letters:
            if letter in self.cleaned_data:
                letters_of.setdefault(self.cleaned_data[letter], []).append(letter)
        for place, letters in letters_of.items():
            if len(letters) > 1:
                self.add_error(letters[-1], self._twice(place, letters))
        return self.cleaned_data

    def _twice(self, place: int, letters: Sequence[str]) -> str:
        return _("%(yarn)s is %(first)s already; give %(letter)s a yarn of its own.") % {
            "yarn": self.yarns[place].name,
            "first": letters[0],
            "letter": letters[-1],
        }

    @property
    def order(self) -> tuple[int, ...]:
        """The position of the yarn for each letter, after validation."""
        return tuple(self.cleaned_data[letter] for letter in self.letters)


class OpeningForm(forms.Form):
    """When the letter plan opens, on the organiser's own clock; left empty it opens at once."""

    at = WallTimeField(label=gettext_lazy("Opens at"), required=False)

    def __init__(self, *args: Any, knit_along: KnitAlong, now: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.knit_along, self.now = knit_along, now
        self.fields["at"].help_text = _(
            "On the clock of %(zone)s. Leave it empty to open the plan at once."
        ) % {"zone": knit_along.zone}

    def clean_at(self) -> datetime:
        """Return the instant meant, which is now when nothing is typed."""
        wall = cast(datetime | None, self.cleaned_data["at"])
        if wall is None:
            return self.now
        try:
            return instant_of(wall, self.knit_along.tz)
        except NoSuchWallTime as error:
            raise ValidationError(str(error), code="gap") from None
