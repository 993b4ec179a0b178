"""What the desk shows of the crowd's palettes."""

from collections import Counter
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Count, Min
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kal.desk.parts import Fact, Figure, Panel, Todo
from kal.models import KnitAlong
from kal.plots import bars
from palettes.colour.audit import Verdict
from palettes.colour.contrast import Grade
from palettes.colour.families import FAMILIES
from palettes.colour.wording import FAMILIES as FAMILY_NAMES
from palettes.colour.wording import GRADE_NAMES, GRADES
from palettes.crowd_audit import CrowdAudit, audit_crowd, current_registrations
from palettes.models import Kit, Palette, RegisteredYarn

BEFORE_CAST_ON = timedelta(days=7)  # our choice: time to order one more ball


def palettes_panel(knit_along: KnitAlong, now: datetime) -> Panel:
    registered = current_registrations(knit_along).count()
    active = {"participant__knit_along": knit_along, "participant__left_at": None}
    begun = Palette.objects.filter(**active).count()
    joined = knit_along.participants.knitting().count()
    open_ = knit_along.are_palettes_open(now)
    proposed = Kit.objects.filter(maker__knit_along=knit_along, state=Kit.State.PROPOSED)
    kits = proposed.aggregate(waiting=Count("pk"), oldest=Min("proposed_at"))
    kit_path = reverse("palettes:desk_kits", args=[knit_along.slug])
    return Panel(
        _("Palettes"),
        (
            Fact(
                _("Registered"),
                _("%(registered)d of %(joined)d") % {"registered": registered, "joined": joined},
                reverse("palettes:gallery", args=[knit_along.slug]),
            ),
            Fact(_("Begun, not registered"), str(max(begun - registered, 0))),
            Fact(
                _("Changes"),
                _("open to everybody") if open_ else _("closed since"),
                at=None if open_ else knit_along.palettes_closed_at,
            ),
            Fact(_("Kits waiting"), str(kits["waiting"]), kit_path),
        ),
        (
            *(_todos(knit_along, joined - registered, now) if open_ else ()),
            *([_kit_todo(kits, kit_path)] if kits["waiting"] else []),
        ),
    )


def _kit_todo(kits: dict[str, Any], path: str) -> Todo:
    text = ngettext(
        "%(n)d kit waits to be approved or declined.",
        "%(n)d kits wait to be approved or declined.",
        kits["waiting"],
    )
    return Todo(kits["oldest"], text % {"n": kits["waiting"]}, path, _("Look at the kits"))


def _todos(knit_along: KnitAlong, without: int, now: datetime) -> tuple[Todo, ...]:
    """Return a word on those who have nothing registered, in the week before cast-on."""
    if without <= 0 or not BEFORE_CAST_ON > knit_along.cast_on_at - now > timedelta(0):
        return ()
    text = ngettext(
        "%(n)d person has no registered palette, and cast-on is less than a week away.",
        "%(n)d people have no registered palette, and cast-on is less than a week away.",
        without,
    )
    path = reverse("kal:people", args=[knit_along.slug])
    return (Todo(knit_along.cast_on_at, text % {"n": without}, path, _("See who takes part")),)


def verdict_figure(knit_along: KnitAlong, now: datetime) -> Figure:
    """Return how many registered palettes work, want another look, or need mending."""
    found = audit_crowd(knit_along)
    names = {
        Verdict.READY: (_("works"), _("every pair reads, with a light and a dark")),
        Verdict.LOOK_AGAIN: (
            _("look again"),
            _("a close pair, no light or no dark, few greys, or no calm yarn"),
        ),
        Verdict.RETHINK: (_("needs mending"), _("a pair that is lost")),
    }
    rows = [(*names[verdict], count) for verdict, count in found.verdicts.items()]
    return Figure(
        summary=_verdict_summary(found),
        columns=(_("Verdict"), _("Because of"), _("Palettes")),
        rows=rows,
        drawing=bars(
            [(name, count, str(count)) for name, _why, count in rows],
            out_of=[found.palettes] * len(rows),
        ),
    )


def _verdict_summary(found: CrowdAudit) -> str:
    if not found.palettes:
        return _("No palette is registered yet.")
    lost = found.verdicts[Verdict.RETHINK]
    words = ngettext(
        "Of %(all)d registered palettes %(n)d has a pair that is lost.",
        "Of %(all)d registered palettes %(n)d have a pair that is lost.",
        lost,
    )
    why = _(
        "Without a light or a dark: %(ends)d. Few greys in a photo: %(greys)d. "
        "No calm yarn to ground the busy ones: %(busy)d."
    )
    return f"{words} {why}" % {
        "all": found.palettes,
        "n": lost,
        "ends": found.lack_an_end,
        "greys": found.few_greys,
        "busy": found.lack_calm,
    }


def contrast_figure(knit_along: KnitAlong, now: datetime) -> Figure:
    """Return how many registered palettes have which grade at their worst pair."""
    found = audit_crowd(knit_along)
    rows = [
        (_(GRADE_NAMES[grade]), _(GRADES[grade]), count) for grade, count in found.grades.items()
    ]
    reads = found.grades[Grade.STRONG] + found.grades[Grade.WORKABLE]
    return Figure(
        summary=_("%(reads)d of %(all)d palettes read throughout, whichever yarns meet.")
        % {"reads": reads, "all": found.palettes}
        if found.palettes
        else _("No palette is registered yet."),
        columns=(_("Worst pair"), _("Which means"), _("Palettes")),
        rows=rows,
        drawing=bars(
            [(name, count, str(count)) for name, _means, count in rows],
            out_of=[found.palettes] * len(rows),
        ),
    )


def families_figure(knit_along: KnitAlong, now: datetime) -> Figure:
    """Return how many chosen yarns are of each colour family, most first."""
    counted = Counter(
        dict(
            RegisteredYarn.objects.filter(
                registration__in=current_registrations(knit_along), is_spare=False
            )
            .order_by()
            .values_list("family")
            .annotate(Count("pk"))
        )
    )
    total = counted.total()
    ordered = sorted(FAMILIES, key=lambda family: -counted[family])
    rows = [
        (_(FAMILY_NAMES[family]), counted[family], _share(counted[family], total))
        for family in ordered
    ]
    return Figure(
        summary=_("The crowd chose %(most)s most often: %(share)s of its yarns.")
        % {"most": rows[0][0], "share": rows[0][2]}
        if total
        else _("No palette is registered yet."),
        columns=(_("Family"), _("Yarns"), _("Share")),
        rows=rows,
        drawing=bars([(name, count, f"{count}, {share}") for name, count, share in rows]),
    )


def _share(count: int, total: int) -> str:
    return f"{count / total:.0%}" if total else "0%"
