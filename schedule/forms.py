"""What an organiser may send about the schedule: wall times, a move of the rest, a reason."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django import forms
from django.forms import BoundField
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from kal.forms.wall_time import WallTimeField
from kal.models import KnitAlong
from schedule.changes import Ask, Change, find_problems, fingerprint, releases_asked
from schedule.errors import ReasonMissing
from schedule.models import Clue
from schedule.pattern.calendar import to_local

MOST_DAYS = 366  # further is another year's knit-along; our choice
REASON_LENGTH = 300


class ScheduleForm(forms.Form):
    """One wall time for each clue, in the knit-along's zone, and the schedule it was typed on."""

    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(
        self, *args: Any, knit_along: KnitAlong, clues: Sequence[Clue], now: datetime, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.zone, self.now, self.clues = knit_along.zone, now, clues
        self.current = fingerprint(clues)
        self.fields["seen"].initial = self.current
        for clue in clues:
            self.fields[_at(clue.number)] = WallTimeField(
                label=_("Clue {number} goes out at").format(number=clue.number),
                initial=self._stored(clue),
                required=not clue.is_released(now),
            )

    def field_of(self, clue: Clue) -> BoundField:
        return self[_at(clue.number)]

    def clean(self) -> dict[str, Any]:
        change = self.change()
        releases = releases_asked(self.clues, change, self.zone)
        moves = {number: release.at for number, release in releases.items()}
        for number, problem in find_problems(self.clues, moves, now=self.now).items():
            self.add_error(_at(number), problem)
        return self.cleaned_data

    @property
    def is_stale(self) -> bool:
        """Whether the schedule has changed since the page that this was typed on."""
        return self.cleaned_data.get("seen", "") not in ("", self.current)

    def change(self) -> Change:
        """Return the wall times that were changed, and those alone.

        One left as it was keeps its stored instant, to the second and on its side of an overlap.
        """
        typed = {clue: self.cleaned_data.get(_at(clue.number)) for clue in self.clues}
        times = {
            str(clue.number): local.isoformat()
            for clue, local in typed.items()
            if local is not None and local != self._stored(clue)
        }
        return Change(Ask.TIMES, times=times)

    def _stored(self, clue: Clue) -> datetime:
        return to_local(clue.release_at, self.zone).replace(second=0, microsecond=0, fold=0)


def _at(number: int) -> str:
    return f"at_{number}"


class MoveForm(forms.Form):
    """One clue moved, alone or with those after it: by a span, to a time, or to a new rhythm."""

    HOW = (
        (Ask.SHIFT, gettext_lazy("by days and hours")),
        (Ask.TO, gettext_lazy("to the date and time below")),
        (Ask.REPEAT, gettext_lazy("to that date and time, and those after it at a new rhythm")),
    )
    rest = forms.TypedChoiceField(
        label=gettext_lazy("Which clues"),
        coerce=lambda value: value == "yes",
        widget=forms.RadioSelect,
        initial="yes",
    )
    ask = forms.ChoiceField(
        label=gettext_lazy("How"), choices=HOW, widget=forms.RadioSelect, initial=Ask.SHIFT
    )
    way = forms.TypedChoiceField(
        label=gettext_lazy("Which way"),
        choices=(("1", gettext_lazy("later")), ("-1", gettext_lazy("earlier"))),
        coerce=int,
        initial="1",
        required=False,
    )
    days = forms.IntegerField(
        label=gettext_lazy("Days"), min_value=0, max_value=MOST_DAYS, initial=7, required=False
    )
    hours = forms.IntegerField(
        label=gettext_lazy("Hours"), min_value=0, max_value=23, initial=0, required=False
    )
    local = WallTimeField(label=gettext_lazy("Date and time"), required=False)
    cadence = forms.IntegerField(
        label=gettext_lazy("Days between clues"), min_value=1, max_value=60, required=False
    )

    def __init__(self, *args: Any, clue: Clue, knit_along: KnitAlong, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.clue = clue
        rest = self.fields["rest"]
        assert isinstance(rest, forms.TypedChoiceField)
        rest.choices = [
            ("yes", _("Clue %(number)d and every clue after it") % {"number": clue.number}),
            ("no", _("Clue %(number)d alone") % {"number": clue.number}),
        ]
        stored = to_local(clue.release_at, knit_along.zone)
        self.fields["local"].initial = stored.replace(second=0, microsecond=0, fold=0)
        self.fields["cadence"].initial = knit_along.cadence_days

    def clean(self) -> dict[str, Any]:
        cleaned, ask = self.cleaned_data, self.cleaned_data.get("ask")
        has_span = cleaned.get("days") or cleaned.get("hours")
        if ask == Ask.SHIFT and not has_span and not {"days", "hours"} & set(self.errors):
            self.add_error("days", _("Give a number of days, of hours, or both."))
        if ask in (Ask.TO, Ask.REPEAT) and not cleaned.get("local") and "local" not in self.errors:
            self.add_error("local", _("Choose a date and a time."))
        if ask == Ask.REPEAT and not cleaned.get("cadence") and "cadence" not in self.errors:
            self.add_error("cadence", _("Give the days from one clue to the next."))
        return cleaned

    def change(self) -> Change:
        cleaned, number = self.cleaned_data, self.clue.number
        rest = bool(cleaned["rest"])
        if cleaned["ask"] == Ask.SHIFT:
            way = cleaned["way"] or 1
            days, hours = (way * (cleaned[name] or 0) for name in ("days", "hours"))
            return Change(Ask.SHIFT, number, rest=rest, days=days, hours=hours)
        local = cleaned["local"].isoformat()
        if cleaned["ask"] == Ask.TO:
            return Change(Ask.TO, number, rest=rest, local=local)
        return Change(Ask.REPEAT, number, rest=True, local=local, days=cleaned["cadence"])


class AdditionForm(forms.Form):
    """When a clue that is added goes out, if not when it was proposed to."""

    local = WallTimeField(label=gettext_lazy("Goes out at"))

    def change(self) -> Change:
        return Change(Ask.ADD, local=self.cleaned_data["local"].isoformat())


class ConfirmForm(forms.Form):
    """Why a change that was shown is made, and whether participants are mailed about it."""

    preview = forms.CharField(widget=forms.HiddenInput)
    reason = forms.CharField(
        label=gettext_lazy("Why"), max_length=REASON_LENGTH, widget=forms.TextInput, required=False
    )
    tells = forms.BooleanField(
        label=gettext_lazy("Mail everybody who wants mail about this"), required=False
    )

    def __init__(self, *args: Any, is_public: bool, mailed: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["reason"].required = is_public
        self.fields["reason"].error_messages["required"] = str(ReasonMissing())
        self.fields["reason"].help_text = (
            _("One sentence. Participants read it; keep what is in the clue out of it.")
            if is_public
            else _("For the log. Nobody but organisers knows these dates yet.")
        )
        self.fields["tells"].initial = is_public
        said = ngettext(
            "%(count)d participant at present, and hosts who want mail.",
            "%(count)d participants at present, and hosts who want mail.",
            mailed,
        )
        self.fields["tells"].help_text = said % {"count": mailed}
