"""What a person should do next in each knit-along they take part in.

Nothing here loads a clue's title or text: numbers and instants are public, the rest is not.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from django.urls import reverse
from django.utils.translation import gettext as _

from kal.models import KnitAlong, Participant
from palettes.actions import what_is_missing
from palettes.models import RegisteredYarn, Yarn
from palettes.models.registration import is_copy, registrable
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
    chosen_count: int = 0
    is_registered: bool = False
    has_changed: bool = False  # what is registered is an older one
    lacks_letters: bool = False  # the letter plan is open, and no letters are kept


def next_steps(participants: Sequence[Participant], now: datetime) -> dict[int, NextStep]:
    """Return the next step by participant, in four queries for any number of them."""
    clues = clue_instants({one.knit_along_id for one in participants})
    palettes = palette_states(participants, now)
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


def palette_states(
    participants: Iterable[Participant], now: datetime
) -> Mapping[int, PaletteState]:
    """Return the state of each participant's palette by participant; those without are left out."""
    people = list(participants)
    drafts: dict[int, list[Yarn]] = defaultdict(list)
    for yarn in Yarn.objects.filter(palette__participant__in=people).select_related("palette"):
        drafts[yarn.palette.participant_id].append(yarn)
    registered: dict[int, list[RegisteredYarn]] = defaultdict(list)
    current = RegisteredYarn.objects.filter(
        registration__palette__participant__in=people, registration__is_current=True
    )
    for copy in current.select_related("registration__palette"):
        registered[copy.registration.palette.participant_id].append(copy)
    undecided = set(
        Participant.objects.filter(
            pk__in=[one.pk for one in people],
            knit_along__plan_opening__opens_at__lte=now,
            letter_choice=None,
        ).values_list("pk", flat=True)
    )
    return {
        id_: _state_of(drafts[id_], registered[id_], lacks_letters=id_ in undecided)
        for id_ in {*drafts, *registered}
    }


def _state_of(
    yarns: Sequence[Yarn], registered: Sequence[RegisteredYarn], *, lacks_letters: bool
) -> PaletteState:
    """Nothing is registered without yarns, so those of a registration tell that there is one."""
    is_registered = bool(registered)
    chosen, spares = registrable(yarns)
    return PaletteState(
        has_yarns=bool(yarns),
        chosen_count=len(chosen),
        is_registered=is_registered,
        has_changed=is_registered and not is_copy(registered, chosen, spares),
        lacks_letters=lacks_letters,
    )


def next_step(
    participant: Participant, clues: Sequence[Clue], palette: PaletteState, now: datetime
) -> NextStep:
    """Return what this one should do next, from facts at hand.

    A palette that was changed after it was registered comes before waiting, and after a clue that
    is out: whoever knits already may be trying something for later. Letters are kept before the
    first stitch; whoever has had a second clue without keeping any is not asked again.
    """
    knit_along = participant.knit_along
    coming = next((clue for clue in clues if not clue.is_out(now)), None)
    latest = next((clue for clue in reversed(clues) if clue.is_out(now)), None)
    if participant.is_organiser:
        return desk_step(knit_along, coming, now)
    if not palette.is_registered and knit_along.are_palettes_open(now):
        return palette_step(knit_along, palette)
    if palette.lacks_letters and (latest is None or latest.number == 1):
        return letters_step(knit_along)
    if latest:
        return read_step(knit_along, latest)
    if palette.has_changed and knit_along.are_palettes_open(now):
        return again_step(knit_along)
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
        missing = what_is_missing(knit_along.colour_count, palette.chosen_count)
        text = missing or _("Your palette is a draft. Read its audit, then register it.")
        return NextStep(text, url, _("Go on with your palette"))
    text = _("Enter the yarns you might use, and choose %(count)d of them.") % {
        "count": knit_along.colour_count
    }
    return NextStep(text, url, _("Start your palette"))


def again_step(knit_along: KnitAlong) -> NextStep:
    text = _(
        "Your palette has changed since you registered it, and the older one counts until you "
        "register again."
    )
    url = reverse("palettes:palette", args=[knit_along.slug])
    return NextStep(text, url, _("Look at it and register again"))


def letters_step(knit_along: KnitAlong) -> NextStep:
    text = _(
        "The letter plan is open. See which of your yarns is A, B, C …, and keep your letters "
        "before you cast on."
    )
    return NextStep(text, reverse("schedule:letters", args=[knit_along.slug]), _("My letters"))


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
