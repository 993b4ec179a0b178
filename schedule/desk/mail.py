"""The mail of a knit-along: what was sent, what waits, and what could not be delivered."""

from collections import defaultdict
from datetime import datetime, timedelta

from django.db.models import Min
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kal.desk.parts import Fact, Figure, Panel, Todo
from kal.models import KnitAlong
from kal.plots import bars
from schedule.clock_words import span_words
from schedule.models import Notice

# Our choice: the worker looks every minute, so what has waited an hour waits for something else.
OVERDUE = timedelta(hours=1)


def mail_panel(knit_along: KnitAlong, now: datetime) -> Panel:
    """Return what is still to be sent or was not; what was sent is counted by the figure."""
    ledger = Notice.objects.of_knit_along(knit_along)
    # Mostly there is none of either on the whole site, which an index tells at once.
    is_trouble = Notice.objects.filter(gave_up_at__isnull=False).exists()
    is_waiting = Notice.objects.filter(sent_at=None, gave_up_at=None).exists()
    failed = ledger.given_up().count() if is_trouble else 0
    waiting = ledger.filter(sent_at=None, gave_up_at=None).count() if is_waiting else 0
    oldest = ledger.unsent(now).aggregate(at=Min("try_after"))["at"] if is_waiting else None
    path = reverse("schedule:notices", args=[knit_along.slug])
    todos = []
    if failed:
        text = ngettext(
            "%(n)d notice could not be delivered.", "%(n)d notices could not be delivered.", failed
        )
        todos.append(Todo(now, text % {"n": failed}, path, _("See why, and try again")))
    if oldest and now - oldest > OVERDUE:
        text = _("Mail has been waiting for %(span)s: see whether the worker runs.")
        words = text % {"span": span_words(now - oldest)}
        todos.append(Todo(oldest, words, path, _("See what waits")))
    return Panel(
        _("Mail"),
        (
            Fact(_("Waiting"), str(waiting), path),
            Fact(_("Not delivered"), str(failed), path),
        ),
        tuple(todos),
    )


def mail_figure(knit_along: KnitAlong, now: datetime) -> Figure:
    """Return what became of the notices of each clue, and of other mail together."""
    sums: dict[int | None, tuple[int, int, int]] = defaultdict(lambda: (0, 0, 0))
    for row in Notice.objects.of_knit_along(knit_along).counted_by_event():
        sent, waiting, stopped = sums[row["clue__number"]]
        sums[row["clue__number"]] = (
            sent + row["sent"],
            waiting + row["waiting"],
            stopped + row["stopped"],
        )
    clues = sorted(number for number in sums if number is not None)
    order: list[int | None] = [*clues, *([None] if None in sums else [])]
    named = [(_name(number), *sums[number]) for number in order]
    sent_in_all = sum(sent for _about, sent, _waiting, _stopped in named)
    return Figure(
        summary=ngettext(
            "%(n)d mail was sent in all.", "%(n)d mails were sent in all.", sent_in_all
        )
        % {"n": sent_in_all}
        if named
        else _("No mail has been written yet."),
        columns=(_("About"), _("Sent"), _("Waiting"), _("Not delivered")),
        rows=named,
        drawing=bars(
            [
                (about, sent, _("%(sent)d of %(all)d") % {"sent": sent, "all": sum(sums[number])})
                for number, (about, sent, _waiting, _stopped) in zip(order, named, strict=True)
            ],
            out_of=[sum(sums[number]) for number in order],
        ),
    )


def _name(number: int | None) -> str:
    return _("Other mail") if number is None else _("Clue %(number)d") % {"number": number}
