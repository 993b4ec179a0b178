"""Choosing a whole set of yarns at once, and putting back what was chosen before it."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from palettes.actions import lock
from palettes.errors import PaletteFull, YarnGone
from palettes.models import Palette, Yarn


@dataclass(frozen=True, slots=True)
class Choice:
    """What is chosen, as keys of yarns: in the order of the letters, and which are spares."""

    chosen: tuple[int, ...]
    spares: tuple[int, ...]


@transaction.atomic
def choose_set(
    palette: Palette, chosen: Sequence[int], *, spares: Collection[int] = (), now: datetime
) -> Choice:
    """Choose these yarns and no others, in this order, and return what was chosen before.

    Whatever else was chosen becomes a candidate, or a spare when it is among `spares`; no yarn is
    removed. Given what it returned, it chooses that again. Raises PaletteClosed, PaletteFull
    or YarnGone.
    """
    lock(palette, now=now)
    yarns = {yarn.pk: yarn for yarn in palette.yarns.all()}
    if missing := len({*chosen, *spares} - yarns.keys()):
        raise YarnGone(
            ngettext(
                "One of these yarns has been removed since; look at the sets again.",
                "%(count)d of these yarns have been removed since; look at the sets again.",
                missing,
            )
            % {"count": missing}
        )
    count = palette.participant.knit_along.colour_count
    if len(chosen) > count:
        raise PaletteFull(
            _("The pattern takes %(count)d yarns and this set has %(size)d; choose fewer.")
            % {"count": count, "size": len(chosen)}
        )
    before = _choice(list(yarns.values()))
    _place(yarns, chosen, spares, now=now)
    return before


def _choice(yarns: Sequence[Yarn]) -> Choice:
    def keys(place: str) -> tuple[int, ...]:
        return tuple(yarn.pk for yarn in yarns if yarn.place == place)

    return Choice(keys(Yarn.Place.CHOSEN), keys(Yarn.Place.SPARE))


def _place(
    yarns: dict[int, Yarn], chosen: Sequence[int], spares: Collection[int], *, now: datetime
) -> None:
    """Store where each yarn belongs; those that come to the spares or candidates go to the end."""
    others = [yarn for yarn in yarns.values() if yarn.pk not in chosen]
    spare = [y for y in others if y.place == Yarn.Place.SPARE or y.pk in spares]
    candidates = [yarn for yarn in others if yarn not in spare]
    rows = {
        Yarn.Place.CHOSEN: [yarns[key] for key in chosen],
        Yarn.Place.SPARE: sorted(spare, key=lambda yarn: yarn.place != Yarn.Place.SPARE),
        Yarn.Place.CANDIDATE: sorted(
            candidates, key=lambda yarn: yarn.place != Yarn.Place.CANDIDATE
        ),
    }
    for place, row in rows.items():
        for position, yarn in enumerate(row):
            yarn.place, yarn.position, yarn.updated_at = place, position, now
    Yarn.objects.bulk_update(yarns.values(), ["place", "position", "updated_at"])


def in_their_letters(chosen: Sequence[int], wanted: Sequence[int]) -> list[int]:
    """Return the wanted yarns so that those already chosen keep their letters where they can."""
    letters = [pk if pk in wanted else None for pk in chosen[: len(wanted)]]
    letters += [None] * (len(wanted) - len(letters))
    others = iter([pk for pk in wanted if pk not in letters])
    return [next(others) if pk is None else pk for pk in letters]
