"""The crowd's yarn by its weigh-ins, and the hours a week that the clues ask for."""

from collections import Counter
from datetime import datetime

from django.template.defaultfilters import floatformat
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kal.desk.parts import Figure, Todo
from kal.models import KnitAlong
from kal.plots import bars
from schedule.own_pace import weeks_of
from schedule.pattern.forecast import Level
from schedule.weighing import forecast_crowd, worried_last


def yarn_figure(knit_along: KnitAlong, now: datetime) -> Figure:
    """Return for each letter how many who weighed are likely short, should watch, have enough."""
    found = forecast_crowd(knit_along, now)
    levels: Counter[tuple[str, Level]] = Counter()
    for made in found.each:
        levels.update((letter, one.level) for letter, one in made.items())
    rows = [
        (
            letter,
            levels[letter, Level.SHORT],
            levels[letter, Level.WATCH],
            levels[letter, Level.ENOUGH],
        )
        for letter in sorted({letter for letter, _one in levels})
    ]
    totals = [short + watch + enough for _letter, short, watch, enough in rows]
    words = ngettext(
        "%(n)d of %(all)d people who weighed is likely to run short of a letter.",
        "%(n)d of %(all)d people who weighed are likely to run short of a letter.",
        found.worried,
    )
    return Figure(
        summary=words % {"n": found.worried, "all": len(found.each)}
        if rows
        else _("Nobody has weighed their yarn yet."),
        columns=(_("Letter"), _("Likely short"), _("Watch it"), _("Enough")),
        rows=rows,
        drawing=bars(
            [
                (
                    _("Letter %(letter)s") % {"letter": letter},
                    short,
                    _("%(short)d of %(all)d") % {"short": short, "all": total},
                )
                for (letter, short, _watch, _enough), total in zip(rows, totals, strict=True)
            ],
            out_of=totals,
        ),
    )


def yarn_todos(knit_along: KnitAlong, now: datetime) -> list[Todo]:
    """Return a word on those who will run short, as the figure or the page of yarn last found.

    Reckoned here, it would cost more than all the rest of the desk.
    """
    worried = worried_last(knit_along)
    if not worried:
        return []
    text = ngettext(
        "%(n)d person is likely to run short of a letter, by what they weighed.",
        "%(n)d people are likely to run short of a letter, by what they weighed.",
        worried,
    )
    path = reverse("schedule:desk_yarn", args=[knit_along.slug])
    return [Todo(now, text % {"n": worried}, path, _("See which letters"))]


def hours_figure(knit_along: KnitAlong, now: datetime) -> Figure:
    """Return the hours a week each clue asks for at the usual pace, and what stands out."""
    weeks = weeks_of(knit_along)
    rows = [
        (
            _("Clue %(number)d") % {"number": clue.number},
            *(_hours(at) for at in (week.hours.likely, week.hours.low, week.hours.high)),
        )
        for clue, week in weeks.clues
    ]
    calm = _("No week stands out from the one before it.")
    return Figure(
        summary=" ".join(weeks.findings) or calm
        if rows
        else _("No clue has its rows entered as numbers yet."),
        columns=(_("Clue"), _("Hours a week"), _("At the fastest"), _("At the slowest")),
        rows=rows,
        drawing=bars(
            [
                (row[0], week.hours.likely, _("%(hours)s h") % {"hours": row[1]})
                for row, (_clue, week) in zip(rows, weeks.clues, strict=True)
            ]
        ),
    )


def _hours(hours: float) -> str:
    return floatformat(hours, 1)
