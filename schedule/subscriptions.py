"""What a participant's calendar and feed say: the schedule as anybody may know it, and no more.

Early readers get the same as everybody: a feed is kept by programs, and shown on lock screens.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from itertools import groupby

from django.urls import reverse
from django.utils.translation import gettext as _

from kal.addresses import absolute, site_host
from kal.models import KnitAlong, Participant
from schedule.announcement import sentences_for, subject_of, why
from schedule.feeds import (
    AtomEntry,
    AtomFeed,
    CalendarEvent,
    Status,
    atom_bytes,
    calendar_bytes,
)
from schedule.models import Revision, ScheduleChange
from schedule.visibility import ListedClue, public_schedule

Kind = ScheduleChange.Kind
MOST_NEWS = 60  # entries of a feed, newest first; our choice, two a clue of the longest
type Changes = Mapping[int, Sequence[ScheduleChange]]


def calendar_of(participant: Participant, now: datetime) -> bytes:
    """Return the participant's iCalendar file at `now`: each clue, and each that was called off."""
    knit_along = participant.knit_along
    by_clue = _changes_by_clue(knit_along)
    events = [
        _event(clue, by_clue.get(clue.key, []), participant, now)
        for clue in public_schedule(knit_along, now)
    ]
    gone = [_gone(changes, knit_along) for changes in by_clue.values() if _is_gone(changes)]
    return calendar_bytes(knit_along.title, [*events, *gone])


def _changes_by_clue(knit_along: KnitAlong) -> Changes:
    """Return what a calendar may count: every move, and the holds that participants were told."""
    grouped: dict[int, list[ScheduleChange]] = {}
    for change in knit_along.schedule_changes.order_by("at", "pk"):
        if change.is_public or change.kind not in (Kind.HELD, Kind.LET_GO):
            grouped.setdefault(change.clue_key, []).append(change)
    return grouped


def _event(
    clue: ListedClue, changes: Sequence[ScheduleChange], participant: Participant, now: datetime
) -> CalendarEvent:
    knit_along = participant.knit_along
    name = _("%(knit_along)s: clue %(number)d") % {
        "knit_along": knit_along.title,
        "number": clue.number,
    }
    is_held = _is_held(changes)
    return CalendarEvent(
        uid=_uid(clue.key),
        summary=f"{name}, {clue.title}" if clue.title else name,
        starts_at=clue.release_at,
        changed_at=_changed_at(clue, changes, knit_along, now),
        sequence=_sequence(changes),
        description=_description(clue, changes, participant),
        url=_page(knit_along, clue if clue.is_out else None),
        status=Status.TENTATIVE if is_held and not clue.is_out else Status.CONFIRMED,
    )


def _changed_at(
    clue: ListedClue, changes: Sequence[ScheduleChange], knit_along: KnitAlong, now: datetime
) -> datetime:
    """Return when anything the event says last became true."""
    instants = [knit_along.created_at, *(change.at for change in changes)]
    if clue.out_since is not None:
        instants.append(clue.out_since)
    elif clue.is_late:
        instants.append(clue.release_at)
    return min(max(instants), now)


def _sequence(changes: Iterable[ScheduleChange]) -> int:
    return sum(change.kind != Kind.ADDED for change in changes)


def _is_held(changes: Sequence[ScheduleChange]) -> bool:
    holds = [change.kind for change in changes if change.kind in (Kind.HELD, Kind.LET_GO)]
    return bool(holds) and holds[-1] == Kind.HELD


def _description(
    clue: ListedClue, changes: Sequence[ScheduleChange], participant: Participant
) -> str:
    lines = []
    if clue.is_out:
        lines.append(_("It is out."))
    elif clue.is_late:
        lines.append(_("It is late, and comes as soon as the organiser lets it go."))
    told = [change for change in changes if change.is_public and change.kind != Kind.ADDED]
    if told:
        lines += _sentences(told[-1:], participant)
    return "\n".join(lines)


def _sentences(changes: Sequence[ScheduleChange], participant: Participant) -> list[str]:
    zone, beside = participant.user.zone, participant.knit_along.zone
    return [*sentences_for(changes, zone, beside), *why(changes)]


def _is_gone(changes: Sequence[ScheduleChange]) -> bool:
    return changes[-1].kind == Kind.REMOVED


def _gone(changes: Sequence[ScheduleChange], knit_along: KnitAlong) -> CalendarEvent:
    removed = changes[-1]
    values = {"knit_along": knit_along.title, "number": removed.number}
    return CalendarEvent(
        uid=_uid(removed.clue_key),
        summary=_("%(knit_along)s: clue %(number)d, called off") % values,
        starts_at=removed.before_at,
        changed_at=removed.at,
        sequence=_sequence(changes),
        url=_page(knit_along),
        status=Status.CANCELLED,
    )


def news_of(participant: Participant, now: datetime, *, self_url: str) -> bytes:
    """Return the participant's Atom feed at `now`: clues out, mended or moved, newest first."""
    knit_along = participant.knit_along
    clues = public_schedule(knit_along, now)
    entries = [
        *_out_entries(knit_along, clues),
        *_errata_entries(knit_along, clues),
        *_change_entries(participant),
    ]
    entries.sort(key=lambda entry: entry.updated_at, reverse=True)
    feed = AtomFeed(
        id=_tag(knit_along, "news"),
        title=knit_along.title,
        author=_("The organisers of %(knit_along)s") % {"knit_along": knit_along.title},
        self_url=self_url,
        page_url=_page(knit_along),
        updated_at=knit_along.created_at,
    )
    return atom_bytes(feed, entries[:MOST_NEWS])


def _out_entries(knit_along: KnitAlong, clues: Iterable[ListedClue]) -> Iterator[AtomEntry]:
    let_go = dict(
        knit_along.schedule_changes.filter(kind=Kind.LET_GO)
        .order_by("at", "pk")
        .values_list("clue_key", "at")
    )
    for clue in clues:
        if clue.out_since is None:
            continue
        out_at = max(clue.out_since, let_go.get(clue.key, clue.out_since))
        name = _("Clue %(number)d is out") % {"number": clue.number}
        yield AtomEntry(
            id=_tag(knit_along, f"clue-{clue.key}"),
            title=f"{name}: {clue.title}" if clue.title else name,
            url=_page(knit_along, clue),
            updated_at=out_at,
            published_at=out_at,
        )


def _errata_entries(knit_along: KnitAlong, clues: Iterable[ListedClue]) -> Iterator[AtomEntry]:
    """Say that a clue was put right, without what: not everybody has knitted that far."""
    out = {clue.key: clue for clue in clues if clue.is_out}
    for revision in Revision.objects.errata().filter(clue__in=out).only("clue", "saved_at"):
        clue = out[revision.clue_id]
        yield AtomEntry(
            id=_tag(knit_along, f"erratum-{revision.pk}"),
            title=_("Clue %(number)d was put right") % {"number": clue.number},
            url=_page(knit_along, clue),
            updated_at=revision.saved_at,
            published_at=revision.saved_at,
        )


def _change_entries(participant: Participant) -> Iterator[AtomEntry]:
    knit_along = participant.knit_along
    for at, group in groupby(knit_along.schedule_changes.told(), lambda change: change.at):
        changes = list(group)
        yield AtomEntry(
            id=_tag(knit_along, f"change-{changes[0].pk}"),
            title=subject_of(changes),
            url=_page(knit_along),
            updated_at=at,
            published_at=at,
            summary="\n".join(_sentences(changes, participant)),
        )


def _page(knit_along: KnitAlong, clue: ListedClue | None = None) -> str:
    if clue is None:
        return absolute(reverse("schedule:clues", args=[knit_along.slug]))
    return absolute(reverse("schedule:clue", args=[knit_along.slug, clue.number]))


def _uid(key: int) -> str:
    return f"clue-{key}@{site_host()}"


def _tag(knit_along: KnitAlong, specific: str) -> str:
    """Return an id that lasts however addresses change: a tag URI (RFC 4151)."""
    return f"tag:{site_host()},{knit_along.created_at:%Y-%m-%d}:{knit_along.slug}/{specific}"
