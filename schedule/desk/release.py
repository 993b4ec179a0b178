"""The clue that goes out next and how ready it is."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kal.desk.parts import Fact, Panel, Todo
from kal.models import KnitAlong
from schedule.clock_words import countdown_words
from schedule.models import Clue
from schedule.models.read_through import early_readers_of
from schedule.preflight import Check, Remark, faults, preflight

SOON = timedelta(days=7)  # our choice: a week to finish a clue and have it read ahead
READING = frozenset({Check.COMMENTS, Check.NOT_SIGNED})


def release_panel(knit_along: KnitAlong, now: datetime) -> Panel:
    clues = list(knit_along.clues.all())
    out = sum(clue.is_out(now) for clue in clues)
    coming = next((clue for clue in clues if not clue.is_out(now)), None)
    path = reverse("schedule:desk_clues", args=[knit_along.slug])
    facts = [Fact(_("Clues out"), _("%(out)d of %(all)d") % {"out": out, "all": len(clues)}, path)]
    if coming is None:
        return Panel(_("Clues"), tuple(facts), _unplanned(knit_along, clues, path))
    remarks = preflight(coming, now)
    return Panel(
        _("Next: clue %(number)d") % {"number": coming.number},
        (*_release_facts(coming, remarks, now), *facts),
        tuple(_todos(clues, coming, remarks, now)),
    )


def _unplanned(knit_along: KnitAlong, clues: Sequence[Clue], path: str) -> tuple[Todo, ...]:
    if clues:
        return ()
    text = _("No clue is planned yet.")
    return (Todo(knit_along.cast_on_at, text, path, _("Plan the clues")),)


def _release_facts(clue: Clue, remarks: Sequence[Remark], now: datetime) -> Iterator[Fact]:
    label = _("Was due") if clue.release_at <= now else _("Goes out")
    countdown = countdown_words(now, clue.release_at)
    yield Fact(label, f"{countdown}:" if countdown else "", at=clue.release_at)
    yield Fact(_("State"), _state(clue), _edit(clue))
    wrong = len(faults(remarks))
    advice = len(remarks) - wrong
    words = _("%(faults)s, %(advice)s") % {
        "faults": ngettext("%(n)d fault", "%(n)d faults", wrong) % {"n": wrong},
        "advice": ngettext("%(n)d piece of advice", "%(n)d pieces of advice", advice)
        % {"n": advice},
    }
    yield Fact(_("Pre-flight"), words, _edit(clue))
    read = [remark.text for remark in remarks if remark.check in READING]
    if not read and not early_readers_of(clue.knit_along_id).exists():
        people = reverse("kal:people", args=[clue.knit_along.slug])
        yield Fact(_("Read ahead"), _("no early readers yet"), people)
        return
    yield Fact(_("Read ahead"), " ".join(read) or _("nobody is still to sign it off"), _ahead(clue))


def _state(clue: Clue) -> str:
    if clue.is_held:
        return _("held back")
    return _("not ready") if clue.ready_at is None else _("ready, goes out by itself")


def _todos(
    clues: Sequence[Clue], coming: Clue, remarks: Sequence[Remark], now: datetime
) -> Iterator[Todo]:
    for clue in clues:
        numbers = {"number": clue.number}
        if clue.is_held and clue.release_at <= now:
            words = _("Clue %(number)d is held back, and its instant has come.")
            yield _todo(clue, words % numbers, _("Let clue %(number)d go") % numbers)
        elif clue.ready_at is None and clue.release_at - SOON <= now:
            yield _todo(clue, _unready(clue, now), _("Finish clue %(number)d") % numbers)
    if coming.ready_at is None or coming.release_at - SOON > now:
        return
    open_ = [remark.text for remark in remarks if remark.check in READING]
    if open_:
        ready = _("Clue %(number)d is marked ready.") % {"number": coming.number}
        yield Todo(
            coming.release_at, " ".join([ready, *open_]), _ahead(coming), _("See what was said")
        )


def _unready(clue: Clue, now: datetime) -> str:
    countdown = countdown_words(now, clue.release_at)
    if not countdown:
        return _("Clue %(number)d is late: it is not ready.") % {"number": clue.number}
    words = _("Clue %(number)d goes out %(countdown)s and is not marked ready.")
    return words % {"number": clue.number, "countdown": countdown}


def _todo(clue: Clue, text: str, label: str) -> Todo:
    return Todo(clue.release_at, text, _edit(clue), label)


def _edit(clue: Clue) -> str:
    return reverse("schedule:edit_clue", args=[clue.knit_along.slug, clue.number])


def _ahead(clue: Clue) -> str:
    return reverse("schedule:read_ahead", args=[clue.knit_along.slug, clue.number])
