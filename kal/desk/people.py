"""Who has joined: the panel and the figure of the base app."""

from collections import Counter
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Count, Q
from django.db.models.functions import TruncDate
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kal.desk.parts import Fact, Figure, Panel, Todo
from kal.models import JoinCode, KnitAlong
from kal.plots import line

LATELY = timedelta(days=7)


def people_panel(knit_along: KnitAlong, now: datetime) -> Panel:
    counts = knit_along.participants.knitting().aggregate(
        joined=Count("pk"), lately=Count("pk", filter=Q(joined_at__gt=now - LATELY))
    )
    joined = ngettext("%(n)d person", "%(n)d people", counts["joined"]) % {"n": counts["joined"]}
    return Panel(
        _("People"),
        (
            Fact(_("Joined"), joined, reverse("kal:people", args=[knit_along.slug])),
            Fact(_("In the last week"), str(counts["lately"])),
            _sign_up(knit_along, now),
            _way_in(knit_along),
            _visitors(knit_along),
        ),
        _todos(knit_along, now),
    )


def _sign_up(knit_along: KnitAlong, now: datetime) -> Fact:
    opens, closes = knit_along.sign_up_opens_at, knit_along.sign_up_closes_at
    if knit_along.is_sign_up_open(now):
        return Fact(_("Sign-up"), _("open until"), at=closes)
    if now >= closes:
        return Fact(_("Sign-up"), _("over since"), at=closes)
    return Fact(_("Sign-up"), _("opens"), at=opens)


def _way_in(knit_along: KnitAlong) -> Fact:
    label, slug = _("Way in"), knit_along.slug
    if knit_along.join_rule == KnitAlong.JoinRule.CODE:
        return Fact(label, _("a join code"), reverse("kal:codes", args=[slug]))
    if knit_along.join_rule == KnitAlong.JoinRule.LIST:
        return Fact(label, _("addresses on the list"), reverse("kal:join_list", args=[slug]))
    return Fact(label, _("anyone may join"))


def _visitors(knit_along: KnitAlong) -> Fact:
    label = _("Page for visitors")
    if knit_along.is_public:
        return Fact(label, _("shown"), knit_along.get_absolute_url())
    return Fact(label, _("hidden; show it"), reverse("kal:edit", args=[knit_along.slug]))


def _todos(knit_along: KnitAlong, now: datetime) -> tuple[Todo, ...]:
    """Return what keeps people out while sign-up is open."""
    if not knit_along.is_sign_up_open(now):
        return ()
    since, found = knit_along.sign_up_opens_at, []
    if not knit_along.is_public:
        text = _("Sign-up is open, and the page for visitors is hidden.")
        found.append(
            Todo(since, text, reverse("kal:edit", args=[knit_along.slug]), _("Show the page"))
        )
    if _is_without_codes(knit_along, now):
        text = _("Sign-up is open, and no join code admits anybody.")
        found.append(
            Todo(since, text, reverse("kal:codes", args=[knit_along.slug]), _("Make codes"))
        )
    return tuple(found)


def _is_without_codes(knit_along: KnitAlong, now: datetime) -> bool:
    if knit_along.join_rule != KnitAlong.JoinRule.CODE:
        return False
    return not JoinCode.objects.filter(knit_along=knit_along).usable(now).exists()


def joined_by_day(knit_along: KnitAlong, now: datetime) -> Figure:
    """Return how many joined each day, by the knit-along's own calendar, and how many in all."""
    zone = ZoneInfo(knit_along.zone)
    day = TruncDate("joined_at", tzinfo=zone)
    counted = (
        knit_along.participants.knitting()
        .annotate(day=day)
        .order_by()
        .values_list("day")
        .annotate(Count("pk"))
    )
    joined = Counter(dict(counted))
    days = _days(min(joined, default=None), now.astimezone(zone).date(), joined)
    rows, total = [], 0
    for one in days:
        total += joined[one]
        rows.append((one, joined[one], total))
    return Figure(
        summary=_summary(joined),
        columns=(_("Day"), _("Joined"), _("In all")),
        rows=[(date_format(one, "j M Y"), *numbers) for one, *numbers in rows if joined[one]],
        drawing=line([(date_format(one, "j M"), total) for one, _joined, total in rows]),
    )


def _days(first: date | None, today: date, joined: Counter[date]) -> list[date]:
    """Return every day from the first joining to the last, or to today while it is near that."""
    if first is None:
        return []
    last = max(joined)
    end = today if last <= today <= last + LATELY else last
    return [first + timedelta(days=n) for n in range((end - first).days + 1)]


def _summary(joined: Counter[date]) -> str:
    if not joined:
        return _("Nobody has joined yet.")
    total, (day, most) = joined.total(), joined.most_common(1)[0]
    words = ngettext("%(n)d person has joined", "%(n)d people have joined", total) % {"n": total}
    return _("%(joined)s; most on one day, %(most)d, on %(day)s.") % {
        "joined": words,
        "most": most,
        "day": date_format(day, "j F Y"),
    }
