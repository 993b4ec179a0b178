"""One participant's palette as its page shows it: the yarns by place, its state, its audit."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from kal.models import KnitAlong, Participant, User
from palettes.actions import MAX_YARNS, what_is_missing
from palettes.audits import PaletteAudit, audit_yarns, letter_at
from palettes.lettering import Lettering, letters_of
from palettes.models import Kit, Palette, Registration, Yarn
from palettes.models.named_yarn import name_yarns
from palettes.models.registration import registrable
from palettes.models.yarn_facts import YarnFacts


@dataclass(frozen=True, slots=True)
class Row:
    """A yarn in its list, with what can be done to it there."""

    yarn: Yarn
    letter: str
    is_first: bool
    is_last: bool


@dataclass(frozen=True, slots=True)
class Workspace:
    """A palette and what its owner may do with it at this moment."""

    colour_count: int
    chosen: Sequence[Row]
    spares: Sequence[Row]
    candidates: Sequence[Row]
    is_open: bool
    registration: Registration | None
    has_changed: bool
    has_planned_letters: bool
    audit: PaletteAudit | None

    @property
    def yarn_count(self) -> int:
        return len(self.chosen) + len(self.spares) + len(self.candidates)

    @property
    def has_room(self) -> bool:
        """Whether one more yarn may be entered."""
        return self.yarn_count < MAX_YARNS

    @property
    def free(self) -> int:
        """How many colours have no chosen yarn yet."""
        return max(0, self.colour_count - len(self.chosen))

    @property
    def missing(self) -> str:
        """What is missing before the palette can be registered, or ''."""
        return what_is_missing(self.colour_count, len(self.chosen))

    @property
    def can_register(self) -> bool:
        return self.is_open and not self.missing and (not self.registration or self.has_changed)


def read_workspace(participant: Participant, *, now: datetime) -> Workspace:
    """Return the participant's palette; an empty one when they have not begun."""
    knit_along = participant.knit_along
    palette = Palette.objects.filter(participant=participant).first()
    yarns = list(palette.yarns.all()) if palette else []
    name_yarns(yarns)
    chosen, spares = registrable(yarns)
    candidates = [yarn for yarn in yarns if yarn.place == Yarn.Place.CANDIDATE]
    registration = palette.registration if palette else None
    lettering = letters_of(participant, chosen, now=now)
    return Workspace(
        colour_count=knit_along.colour_count,
        chosen=_rows(chosen, lettering.letters),
        spares=_rows(spares),
        candidates=_rows(candidates),
        is_open=knit_along.are_palettes_open(now),
        registration=registration,
        has_changed=bool(registration and not registration.is_copy_of(chosen, spares)),
        has_planned_letters=lettering.is_planned,
        audit=audit_for(
            chosen, [*spares, *candidates], knit_along, participant.user, lettering=lettering
        ),
    )


def audit_for(
    chosen: Sequence[YarnFacts],
    others: Sequence[YarnFacts],
    knit_along: KnitAlong,
    reader: User,
    *,
    lettering: Lettering | None = None,
) -> PaletteAudit | None:
    """Return the audit in the reader's own units."""
    imperial = reader.reads_imperial
    return audit_yarns(chosen, others, knit_along, imperial=imperial, lettering=lettering)


def read_kit(kit: Kit, knit_along: KnitAlong, reader: User) -> dict[str, Any]:
    """Return what every page of one kit shows of it: the kit, its yarns, and their audit."""
    yarns = list(kit.yarns.all())
    name_yarns(yarns)
    return {"kit": kit, "yarns": yarns, "audit": audit_for(yarns, [], knit_along, reader)}


def _rows(yarns: Sequence[Yarn], letters: str = "") -> list[Row]:
    last = len(yarns) - 1
    return [
        Row(yarn, letter_at(letters, i) if letters else "", i == 0, i == last)
        for i, yarn in enumerate(yarns)
    ]
