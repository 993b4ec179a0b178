"""What a person should do next in each knit-along they take part in.

Nothing here loads a clue's title or text: numbers and instants are public, the rest is not.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from django.db.models import Exists, OuterRef
from django.urls import reverse
from django.utils.translation import gettext as _

from kal.models import KnitAlong, Participant
from palettes.models import Palette, Registration, Yarn
from schedule.models import Clue


@dataclass(frozen=True)
class NextStep:
    """One sentence, where it leads, and the instant it is about if there is one."""

    text: str
    url: str
    label: str
    at: datetime | None = None


@dataclass(frozen=True)
class PaletteState:
    """How far one participant's palette has come."""

    has_yarns: bool = False
    is_registered: bool = False


def next_steps(participants: Sequence[Participant], now: datetime) -> dict[int, NextStep]:
    """Return the next step by participant, in two queries for any number of them."""
    clues = clue_instants({one.knit_along_id for one in participants})
    palettes = palette_states(participants)
    return {
        one.pk: next_step(
            one, clues.get(one.knit_along_id, []), palettes.get(one.pk, PaletteState()), now
        )
        for one in participants
    }


def clue_instants(knit_alongs: Iterable[int]) -> Mapping[int, list[Clue]]:
    """Return the clues of each knit-along by its id, in order, with what tells if they are out."""
    clues = (
        Clue.objects.filter(knit_along__in=knit_alongs)
        .order_by("knit_along_id", "number")
        .only("knit_along_id", "number", "release_at", "ready_at", "is_held")
    )
    return {id_: list(group) for id_, group in groupby(clues, lambda clue: clue.knit_along_id)}


def palette_states(participants: Iterable[Participant]) -> Mapping[int, PaletteState]:
    """Return the state of each participant's palette by participant; those without are left out."""
    yarns = Yarn.objects.filter(palette=OuterRef("pk"))
    current = Registration.objects.filter(palette=OuterRef("pk"), is_current=True)
    rows = Palette.objects.filter(participant__in=participants).values_list(
        "participant_id", Exists(yarns), Exists(current)
    )
    return {id_: PaletteState(bool(yarn), bool(registered)) for id_, yarn, registered in rows}


def next_step(
    participant: Participant, clues: Sequence[Clue], palette: PaletteState, now: datetime
) -> NextStep:
    """Return what this one should do next, from facts at hand."""
    knit_along = participant.knit_along
    coming = next((clue for clue in clues if not clue.is_out(now)), None)
    latest = next((clue for clue in reversed(clues) if clue.is_out(now)), None)
    if participant.is_organiser:
        return desk_step(knit_along, coming, now)
    if not palette.is_registered and knit_along.are_palettes_open(now):
        return palette_step(knit_along, palette)
    if latest:
        return read_step(knit_along, latest)
    return waiting_step(knit_along, coming, now)


def desk_step(knit_along: KnitAlong, coming: Clue | None, now: datetime) -> NextStep:
    if coming is None:
        url = reverse("schedule:desk_clues", args=[knit_along.slug])
        return NextStep(_("Every clue is out."), url, _("See the clues"))
    url = reverse("schedule:edit_clue", args=[knit_along.slug, coming.number])
    number = {"number": coming.number}
    look, write = _("Look at clue %(number)d") % number, _("Write clue %(number)d") % number
    if coming.is_held:
        return NextStep(_("Clue %(number)d is held back.") % number, url, look)
    if coming.ready_at is None:
        due = (
            _("Clue %(number)d is overdue and not marked ready; it was to go out on")
            if coming.release_at <= now
            else _("Clue %(number)d is not marked ready; it goes out on")
        )
        return NextStep(due % number, url, write, coming.release_at)
    ready = _("Clue %(number)d is ready and goes out on") % number
    return NextStep(ready, url, look, coming.release_at)


def palette_step(knit_along: KnitAlong, palette: PaletteState) -> NextStep:
    url = reverse("palettes:palette", args=[knit_along.slug])
    if palette.has_yarns:
        text = _("Your palette is a draft. Read its audit, then register it.")
        return NextStep(text, url, _("Go on with your palette"))
    text = _("Enter the yarns you might use, and choose %(count)d of them.") % {
        "count": knit_along.colour_count
    }
    return NextStep(text, url, _("Start your palette"))


def read_step(knit_along: KnitAlong, latest: Clue) -> NextStep:
    url = reverse("schedule:clue", args=[knit_along.slug, latest.number])
    number = {"number": latest.number}
    return NextStep(_("Clue %(number)d is out.") % number, url, _("Read clue %(number)d") % number)


def waiting_step(knit_along: KnitAlong, coming: Clue | None, now: datetime) -> NextStep:
    url = reverse("schedule:clues", args=[knit_along.slug])
    if coming is None:
        return NextStep(_("The organiser has not planned the clues yet."), url, _("See the clues"))
    if coming.release_at <= now:
        late = _("Clue %(number)d is late; the organiser has not let it go yet.")
        return NextStep(late % {"number": coming.number}, url, _("See the clues"))
    wait = _("Wait for clue %(number)d. It comes on") % {"number": coming.number}
    return NextStep(wait, url, _("See the clues"), coming.release_at)
