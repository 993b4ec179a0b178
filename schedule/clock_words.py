"""Instants, spans and changes of the clocks in words a reader needs no table for."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from schedule.pattern.calendar import Release, WallTime, to_local, wall_time_kind
from schedule.pattern.clock_changes import clock_change

FULL, SHORT, TIME = "l j F Y, H:i", "l j F, H:i", "H:i"
MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)


def instant_words(at: datetime, zone: str, beside: str = "") -> str:
    """Return the instant on the clocks of `zone`, with those of `beside` after it if they differ.

    Without `beside` the zone itself is named.
    """
    mine = at.astimezone(ZoneInfo(zone))
    if not beside:
        return f"{date_format(mine, FULL)} ({zone})"
    theirs = at.astimezone(ZoneInfo(beside))
    if mine.utcoffset() == theirs.utcoffset():
        return date_format(mine, FULL)
    there = _("%(time)s in %(zone)s") % {"time": date_format(theirs, SHORT), "zone": beside}
    return f"{date_format(mine, FULL)} ({there})"


def span_words(span: timedelta) -> str:
    """Return a span as its days, hours and minutes: '6 days 23 hours'; nothing under a minute."""
    minutes = int(span / MINUTE)
    days, rest = divmod(minutes, 24 * 60)
    hours, minutes = divmod(rest, 60)
    parts = (
        (days, ngettext("%(n)d day", "%(n)d days", days)),
        (hours, ngettext("%(n)d hour", "%(n)d hours", hours)),
        (minutes, ngettext("%(n)d minute", "%(n)d minutes", minutes)),
    )
    return " ".join(words % {"n": count} for count, words in parts if count)


def countdown_words(now: datetime, at: datetime) -> str:
    """Return how long it is until `at`: 'in 3 days 4 hours', its two largest units; '' when past.

    Rounded down, so that nobody is told to wait longer than they must.
    """
    left = at - now
    if left <= timedelta(0):
        return ""
    if left < MINUTE:
        return _("in less than a minute")
    unit = HOUR if left >= DAY else MINUTE
    return _("in %(span)s") % {"span": span_words(left // unit * unit)}


def shift_words(before: datetime, after: datetime) -> str:
    """Return how far an instant is moved: '7 days later', '2 hours earlier'."""
    words = span_words(abs(after - before))
    return (_("%(span)s later") if after > before else _("%(span)s earlier")) % {"span": words}


def clock_notes(before: datetime | None, at: datetime, *, zone: str, reader: str) -> Sequence[str]:
    """Return what the reader should know of the clocks at `at`, one sentence each.

    `before` is the instant of the clue before it, in order. `zone` is the organiser's.
    """
    notes = [_twice(at, reader)] if _is_twice(at, reader) else []
    if before is not None and before < at and (note := _change_note(before, at, zone, reader)):
        notes.append(note)
    return notes


def skipped_note(release: Release) -> str:
    """Return what the organiser should know of a release whose wall time the clocks skip."""
    return _("The clocks skip %(asked)s on %(asked_day)s, so it is %(time)s on %(day)s.") % {
        "asked": f"{release.asked:%H:%M}",
        "asked_day": date_format(release.asked, "j F Y"),
        "time": f"{release.local:%H:%M}",
        "day": date_format(release.local, "j F Y"),
    }


def _is_twice(at: datetime, zone: str) -> bool:
    return wall_time_kind(to_local(at, zone), zone) is WallTime.OVERLAP


def _twice(at: datetime, zone: str) -> str:
    local = to_local(at, zone)
    values = {"time": f"{local:%H:%M}", "day": _day(local), "zone": zone}
    if local.fold:
        return _("%(time)s comes twice on %(day)s in %(zone)s; this is the second.") % values
    return _("%(time)s comes twice on %(day)s in %(zone)s; this is the first.") % values


def _change_note(before: datetime, at: datetime, zone: str, reader: str) -> str:
    then, now = to_local(before, zone), to_local(at, zone)
    if then.time() != now.time():
        return ""  # hand-set to another hour, so no reader counts on the same one
    mine_then, mine_now = to_local(before, reader), to_local(at, reader)
    if mine_then.time() != mine_now.time():
        return _(
            "By your clock it comes at %(now)s, where the clue before came at %(then)s: the clocks "
            "in %(zone)s and yours do not change on the same day."
        ) % {"now": f"{mine_now:%H:%M}", "then": f"{mine_then:%H:%M}", "zone": zone}
    change = clock_change(before, at, reader)
    if change is None:
        return ""
    way = _("go forward") if change.by > timedelta(0) else _("go back")
    return _(
        "Clocks %(way)s on %(day)s: the clue goes out at the same local hour, which is %(span)s "
        "after the one before."
    ) % {"way": way, "day": _day(change.day), "span": span_words(at - before)}


def _day(day: date) -> str:
    return date_format(day, "j F")
