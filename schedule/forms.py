"""What an organiser may send: a schedule of instants."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django import forms
from django.forms import BoundField

from kal.forms.wall_time import WallTimeField
from kal.models import KnitAlong
from schedule.actions import find_problems
from schedule.models import Clue
from schedule.pattern.calendar import Release, to_local, to_release


class ScheduleForm(forms.Form):
    """One wall time for each clue, in the knit-along's zone."""

    def __init__(
        self, *args: Any, knit_along: KnitAlong, clues: Iterable[Clue], now: datetime, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.zone, self.now = knit_along.zone, now
        self.clues = list(clues)
        for clue in self.clues:
            self.fields[_at(clue.number)] = WallTimeField(
                label=f"Clue {clue.number} goes out at",
                initial=self._stored(clue),
                required=not clue.is_released(now),
            )

    def field_of(self, clue: Clue) -> BoundField:
        return self[_at(clue.number)]

    def clean(self) -> dict[str, Any]:
        moves = self.moves
        for number, problem in find_problems(
            self.clues, {number: release.at for number, release in moves.items()}, now=self.now
        ).items():
            self.add_error(_at(number), problem)
        return self.cleaned_data

    @property
    def moves(self) -> dict[int, Release]:
        """The new releases by clue number, of those alone whose wall time was changed.

        One left as it was keeps its stored instant, to the second and on its side of an overlap.
        """
        typed = {clue: self.cleaned_data.get(_at(clue.number)) for clue in self.clues}
        return {
            clue.number: to_release(local, self.zone)
            for clue, local in typed.items()
            if local is not None and local != self._stored(clue)
        }

    def _stored(self, clue: Clue) -> datetime:
        return to_local(clue.release_at, self.zone).replace(second=0, microsecond=0, fold=0)


def _at(number: int) -> str:
    return f"at_{number}"
