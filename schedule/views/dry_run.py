"""The organiser's dry run: how every registered palette comes out, and kind notes to some."""

from datetime import datetime
from typing import Final

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_safe

from kal.desk.pages import desk_page
from kal.http import MemberRequest, form_status, organiser_required, posted
from kal.plots import Bars, bars
from kal.spreadsheets import csv_response
from palettes.colour.wording import GRADE_NAMES
from palettes.colour.wording import GRADES as GRADE_MEANINGS
from schedule.actions.palette_notes import send_palette_notes
from schedule.dry_run import DryRun, MeetingCount, dry_run
from schedule.models import Clue
from schedule.note_form import NoteForm
from schedule.palette_notes import addressees, advised, draft_body, draft_subject, filled_in
from schedule.views.reading import never_kept

PEOPLE_PAGE: Final = 50
SWAPS_SHOWN: Final = 3
EXAMPLES: Final = 3


@require_safe
@never_kept
@organiser_required
def dry_run_page(request: MemberRequest, number: int | None = None) -> HttpResponseBase:
    """Show how the crowd comes out in one clue, or in all; worked out anew for each request."""
    run = _run(request, number, timezone.now())
    grades = [
        (_(GRADE_NAMES[one]), count, _(GRADE_MEANINGS[one])) for one, count in run.counts.items()
    ]
    page = Paginator(run.worst_first().tolist(), PEOPLE_PAGE).get_page(request.GET.get("page"))
    context = {
        "run": run,
        "unread": int(run.unread.sum()),
        "grades": grades,
        "grade_bars": _bars([(name, count) for name, count, _means in grades], run),
        "meeting_bars": _bars([(_meeting(one), one.unread) for one in run.by_meeting], run),
        "swaps": run.swaps[:SWAPS_SHOWN],
        "page": page,
        "people": addressees(request.knit_along, run, list(page)),
        "query": "as_if_planned=yes&" if "as_if_planned" in request.GET else "",
        "clues": Clue.objects.filter(knit_along=request.knit_along),
    }
    return _page(request, "schedule/dry_run.html", number, context)


def _bars(rows: list[tuple[str, int]], run: DryRun) -> Bars | None:
    """Return a bar for each label and count, as long as its share of all palettes tried."""
    named = [(label, count, str(count)) for label, count in rows]
    return bars(named, out_of=[run.tried] * len(rows))


def _meeting(one: MeetingCount) -> str:
    clue = _("clue %(number)s") % {"number": one.meeting.clue.number}
    return f"{one.meeting.first}-{one.meeting.second}, {clue}"


@require_http_methods(["GET", "HEAD", "POST"])
@never_kept
@organiser_required
def palette_notes(request: MemberRequest, number: int | None = None) -> HttpResponseBase:
    """Word the note, look at it as some will read it, and only then send it."""
    now = timezone.now()
    everybody = addressees(request.knit_along, run := _run(request, number, now))
    owed = [one for one in everybody if not one.is_told]
    form = NoteForm(
        posted(request),
        initial={"subject": draft_subject(), "body": draft_body(str(request.user))},
    )
    is_seen = form.is_bound and form.is_valid()
    if is_seen and "send" in request.POST:
        everyone = advised(request.knit_along, owed)
        count = send_palette_notes(
            request.knit_along, everyone, by=request.user, now=now, clue=number, **form.cleaned_data
        )
        messages.success(request, _said(count))
        return redirect(_back(number), *_arguments(request, number))
    examples = []
    if is_seen:
        words = form.cleaned_data
        examples = [
            (one, filled_in(words["subject"], one), filled_in(words["body"], one))
            for one in advised(request.knit_along, owed[:EXAMPLES])
        ]
    context = {
        "form": form,
        "owed": len(owed),
        "told": len(everybody) - len(owed),
        "unmailed": sum(not one.participant.wants_notices for one in owed),
        "examples": examples,
        "run": run,
    }
    status = form_status(form)
    return _page(request, "schedule/palette_notes.html", number, context, status=status)


def _said(count: int) -> str:
    if not count:
        return _("Everybody on the list has this note already, so nothing was sent.")
    return ngettext("%(count)d note is on its way.", "%(count)d notes are on their way.", count) % {
        "count": count
    }


@require_safe
@never_kept
@organiser_required
def dry_run_list(request: MemberRequest, number: int | None = None) -> HttpResponseBase:
    """Hand out the list of those whose palette does not read everything, for a spreadsheet."""
    found = addressees(request.knit_along, _run(request, number, timezone.now()))
    heading = [_("name"), _("mail address"), _("pairs that do not read"), _("worst margin")]
    rows = [
        [
            str(one.participant.user),
            one.participant.user.email,
            one.pairs_in_words,
            round(one.worst_margin, 1),
            _("yes") if one.is_told else _("no"),
        ]
        for one in found
    ]
    name = f"{request.knit_along.slug}-dry-run{'' if number is None else f'-clue-{number}'}"
    return csv_response(name, [[*heading, _("has a note")], *rows])


def _run(request: MemberRequest, number: int | None, now: datetime) -> DryRun:
    clues = Clue.objects.filter(knit_along=request.knit_along)
    if number is not None and not clues.filter(number=number).exists():
        raise Http404
    as_if_planned = "as_if_planned" in request.GET
    return dry_run(request.knit_along, now=now, clue=number, as_if_planned=as_if_planned)


def _back(number: int | None) -> str:
    return "schedule:dry_run" if number is None else "schedule:dry_run_clue"


def _arguments(request: MemberRequest, number: int | None) -> list[object]:
    slug = request.knit_along.slug
    return [slug] if number is None else [slug, number]


def _page(
    request: MemberRequest,
    template: str,
    number: int | None,
    context: dict[str, object],
    *,
    status: int = 200,
) -> HttpResponse:
    context |= {"number": number}
    return desk_page(request, template, context, desk_section="dry-run", status=status)
