"""The kind notes that a dry run suggests: who would get one, and in which words."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import batched

from django.utils.translation import gettext as _

from kal.models import KnitAlong, Participant
from palettes.audits import fabric_of
from palettes.colour.letter_advice import best_replacement
from palettes.colour.letters import ALPHABET
from palettes.colour.letters import Meeting as ColourMeeting
from palettes.colour.swatch import Fabric
from palettes.models import RegisteredYarn, Registration
from palettes.translator import listed
from schedule.dry_run import DryRun
from schedule.models import Meeting, PaletteNote

AT_ONCE = 500  # rows asked for by their keys: SQLite takes so many with room to spare
PLACES = ("pairs", "help")
_PLACE = re.compile(r"\{(\w*)\}")


@dataclass(frozen=True)
class Addressee:
    """Somebody whose palette does not tell some letters apart."""

    participant: Participant
    registration: int
    pairs: tuple[tuple[tuple[str, str], tuple[str, str]], ...]
    """Letters and the names of their yarns, of each pair that does not read."""
    worst_margin: float
    swap: tuple[str, str] | None
    is_told: bool
    """They have a note about all of these pairs already."""
    order: tuple[int, ...]
    spare: tuple[str, str] | None = None
    """The name of a spare that would mend everything, and of the yarn it would replace."""

    @property
    def pairs_in_words(self) -> str:
        """Like 'A and B (Chalk beside Soot), and C and D (Moss beside Fern)'."""
        return _(", and ").join(
            _("%(letters)s (%(first)s beside %(second)s)")
            % {"letters": listed(letters), "first": yarns[0], "second": yarns[1]}
            for letters, yarns in self.pairs
        )

    @property
    def help_in_words(self) -> str:
        if self.swap:
            return _(
                "If you have not knitted with them yet, exchanging the yarns of %(letters)s "
                "would help."
            ) % {"letters": listed(self.swap)}
        if self.spare:
            return _("Your spare %(spare)s in place of %(yarn)s would help.") % {
                "spare": self.spare[0],
                "yarn": self.spare[1],
            }
        return _("A yarn that is clearly lighter or darker in place of one of them would help.")

    @property
    def merge(self) -> dict[str, str]:
        """What stands for {pairs} and {help} in their note."""
        return {"pairs": self.pairs_in_words, "help": self.help_in_words}

    @property
    def key(self) -> str:
        """The pairs as a note keeps them: 'AB CD'."""
        return " ".join("".join(letters) for letters, _yarns in self.pairs)


def draft_subject() -> str:
    return _("A word about your palette")


def draft_body(organiser: str) -> str:
    """Return the note as it is drafted, with places for what is each reader's own."""
    return _(
        "I have tried the pattern against every palette. In yours, yarns that are worked side by "
        "side are closer to each other than the pattern asks for: {pairs}.\n\n"
        "{help}\n\n"
        "There is nothing wrong with your yarns, and if you like them as they are, keep them.\n\n"
        "%(organiser)s"
    ) % {"organiser": organiser}


def unknown_places(text: str) -> list[str]:
    """Return the places in a note's words that nothing would be put into, as they were typed."""
    return [f"{{{name}}}" for name in _PLACE.findall(text) if name not in PLACES]


def filled_in(text: str, addressee: Addressee) -> str:
    """Return a note's words as the addressee reads them."""
    return _PLACE.sub(lambda place: addressee.merge.get(place[1], place[0]), text)


def addressees(
    knit_along: KnitAlong, run: DryRun, rows: Sequence[int] | None = None
) -> list[Addressee]:
    """Return who would get a note, the worst first; only those in `rows` of the run if given."""
    places = run.worst_first().tolist() if rows is None else list(rows)
    keys = [int(run.registrations[place]) for place in places]
    people, names, told = _people(keys), _yarn_names(keys), told_pairs(knit_along, keys)
    found = []
    for place, key in zip(places, keys, strict=True):
        if key not in people:
            continue  # registered anew or left since the run
        order, yarns = run.orders[place].tolist(), names[key]
        pairs = run.unread_pairs(place)
        found.append(
            Addressee(
                participant=people[key],
                registration=key,
                pairs=tuple(((one, two), _names(yarns, order, (one, two))) for one, two in pairs),
                worst_margin=float(run.margins[place].min()),
                swap=run.own_swaps.get(key),
                is_told={"".join(pair) for pair in pairs} <= told.get(key, set()),
                order=tuple(order),
            )
        )
    return found


def advised(knit_along: KnitAlong, some: Sequence[Addressee]) -> list[Addressee]:
    """Return them with the spare of their own that would mend all their meetings, if one does."""
    meetings = [one.as_meeting() for one in Meeting.objects.in_newest_revisions(knit_along)]
    fabric = fabric_of(knit_along)
    keys = [one.registration for one in some if not one.swap]
    with_spares = {
        registration.pk: registration
        for part in batched(keys, AT_ONCE)
        for registration in Registration.objects.filter(pk__in=part, yarns__is_spare=True)
        .distinct()
        .prefetch_related("yarns")
    }
    found = []
    for one in some:
        registration = with_spares.get(one.registration)
        spare = registration and _best_spare(registration, meetings, one.order, fabric)
        found.append(replace(one, spare=spare) if spare else one)
    return found


def _best_spare(
    registration: Registration,
    meetings: Sequence[ColourMeeting],
    order: Sequence[int],
    fabric: Fabric,
) -> tuple[str, str] | None:
    chosen, spares = registration.chosen, registration.spares
    best = best_replacement(
        [yarn.swatch() for yarn in chosen],
        [yarn.swatch() for yarn in spares],
        meetings,
        meetings,
        order,
        fabric,
    )
    if best is None or best.worst_after < 0:
        return None
    return spares[best.spare].name, chosen[order[ALPHABET.index(best.letter)]].name


def _names(yarns: Sequence[str], order: Sequence[int], letters: tuple[str, str]) -> tuple[str, str]:
    first, second = (yarns[order[ALPHABET.index(letter)]] for letter in letters)
    return first, second


def _people(keys: Iterable[int]) -> dict[int, Participant]:
    found: dict[int, Participant] = {}
    for some in batched(keys, AT_ONCE):
        current = Registration.objects.filter(
            pk__in=some, is_current=True, palette__participant__left_at=None
        ).select_related("palette__participant__user")
        found |= {one.pk: one.palette.participant for one in current}
    return found


def _yarn_names(keys: Iterable[int]) -> dict[int, list[str]]:
    found: dict[int, list[str]] = {}
    for some in batched(keys, AT_ONCE):
        yarns = RegisteredYarn.objects.filter(registration__in=some, is_spare=False)
        ordered = yarns.order_by("registration", "position")
        for key, name in ordered.values_list("registration_id", "name"):
            found.setdefault(key, []).append(name)
    return found


def told_pairs(knit_along: KnitAlong, keys: Iterable[int]) -> dict[int, set[str]]:
    """Return the pairs of letters that notes have told of, by registration."""
    told: dict[int, set[str]] = {}
    for some in batched(keys, AT_ONCE):
        notes = PaletteNote.objects.filter(
            participant__knit_along=knit_along, registration__in=some
        )
        for key, pairs in notes.values_list("registration_id", "pairs"):
            told.setdefault(key, set()).update(pairs.split())
    return told
