"""A change of the schedule in the words participants read, on the page and by mail."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import datetime

from django.utils.translation import gettext as _

from kal.languages import language_of, speaking_to
from kal.models import KnitAlong, Participant
from schedule.clock_words import instant_words
from schedule.models import ScheduleChange

Kind = ScheduleChange.Kind
type Say = Callable[[datetime], str]


def change_sentence(change: ScheduleChange, say: Say) -> str:
    """Return what happened to one clue; `say` words an instant for the reader. No title, ever."""
    return _sentence_form(change) % {
        "number": change.number,
        "before": say(change.before_at),
        "after": say(change.after_at or change.before_at),
        "next": change.number - 1,
    }


def sentences_for(changes: Iterable[ScheduleChange], zone: str, beside: str = "") -> list[str]:
    """Return a sentence for each change, by the clocks that `instant_words` names."""
    return [
        change_sentence(change, lambda at: instant_words(at, zone, beside)) for change in changes
    ]


def why(changes: Sequence[ScheduleChange]) -> list[str]:
    """Return the sentence that gives the reason of one act's changes, none where none was given."""
    reason = changes[0].reason
    return [_("Why: %(reason)s") % {"reason": reason}] if reason else []


def _sentence_form(change: ScheduleChange) -> str:
    if change.kind == Kind.MOVED:
        return _("Clue %(number)d moves from %(before)s to %(after)s.")
    if change.kind == Kind.HELD:
        return _("Clue %(number)d is held back: it was due %(before)s and waits for now.")
    if change.kind == Kind.LET_GO and change.before_at <= change.at:
        return _("Clue %(number)d is held back no longer.")
    if change.kind == Kind.LET_GO:
        return _("Clue %(number)d is held back no longer: it is due %(after)s.")
    if change.kind == Kind.REMOVED:
        return _("Clue %(number)d is called off; it was due %(before)s.")
    if change.kind == Kind.RENUMBERED:
        return _("Clue %(number)d is now clue %(next)d, still due %(after)s.")
    return _("Clue %(number)d is new: it is due %(after)s.")


def subject_of(changes: Sequence[ScheduleChange]) -> str:
    """Return one line that names the clue a person will look for first."""
    first = changes[0]
    number = {"number": first.number}
    if first.kind == Kind.MOVED and len(changes) > 1:
        return _("Clue %(number)d and others move") % number
    return {
        Kind.MOVED: _("Clue %(number)d moves"),
        Kind.HELD: _("Clue %(number)d is held back"),
        Kind.LET_GO: _("Clue %(number)d is held back no longer"),
        Kind.REMOVED: _("Clue %(number)d is called off"),
        Kind.ADDED: _("Clue %(number)d is new"),
    }.get(Kind(first.kind), _("The schedule of the clues has changed")) % number


def announcement_of(changes: Sequence[ScheduleChange]) -> tuple[str, str]:
    """Return subject and body of the mail; its instants are names that `merge_for` fills."""
    names = dict(_names(changes))
    sentences = [change_sentence(change, lambda at: f"{{{names[at]}}}") for change in changes]
    return subject_of(changes), "\n\n".join(["\n".join(sentences), *why(changes)])


def merge_for(
    participants: Iterable[Participant], knit_along: KnitAlong, changes: Sequence[ScheduleChange]
) -> Iterator[tuple[Participant, dict[str, str]]]:
    """Yield each participant with every instant on their own clocks, the organiser's beside it."""
    names = dict(_names(changes))
    worded: dict[tuple[str, str], dict[str, str]] = {}
    for participant in participants:
        reader = participant.user
        key = language_of(reader), reader.zone
        if key not in worded:
            with speaking_to(reader):
                worded[key] = {
                    name: instant_words(at, reader.zone, beside=knit_along.zone)
                    for at, name in names.items()
                }
        yield participant, worded[key]


def _names(changes: Iterable[ScheduleChange]) -> Iterator[tuple[datetime, str]]:
    instants = {at: None for change in changes for at in (change.before_at, change.after_at) if at}
    for number, at in enumerate(instants, start=1):
        yield at, f"instant_{number}"
