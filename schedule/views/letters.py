"""A participant's letters: the plan once it is open, their own choice, and a clue's colours."""

from dataclasses import dataclass
from datetime import datetime

from django.contrib import messages
from django.forms import BoundField
from django.http import Http404, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from kal.http import MemberRequest, member_required, wants_fragment
from kal.models import User
from palettes.audits import MARKS, fabric_of
from palettes.colour.letters import Assignment
from palettes.colour.wording import GRADE_NAMES, Words, describe
from palettes.colour.wording import GRADES as GRADE_MEANINGS
from palettes.colour.yarn_rules import shortage
from palettes.models.yarn_facts import YarnFacts
from palettes.translator import READERS_LANGUAGE, listed
from schedule.actions.letters import choose_letters
from schedule.actions.letters import reset_letters as forget_letters
from schedule.clue_colours import colours_of
from schedule.errors import LettersRefused
from schedule.letter_forms import LettersForm
from schedule.letter_words import margin_words
from schedule.letters import MetPair, OwnLetters, come_out, met_pairs, own_letters
from schedule.models import Meeting, PaletteNote, PlanOpening
from schedule.views.reading import never_kept
from schedule.visibility import is_plan_open, readable_meetings


@dataclass(frozen=True)
class LetterRow:
    """One letter with its yarn, and the field to give it another."""

    letter: str
    yarn: YarnFacts
    field: BoundField


@dataclass(frozen=True)
class PairRow:
    """One met pair in words."""

    pair: MetPair
    mark: str
    grade: str
    grade_words: str
    margin: str
    needs: str


@require_http_methods(["GET", "HEAD", "POST"])
@never_kept
@member_required()
def letters(request: MemberRequest) -> HttpResponseBase:
    """Show the participant's letters; a GET with letters tries those, a POST keeps them."""
    now = timezone.now()
    knit_along = request.knit_along
    meetings = list(Meeting.objects.in_newest_revisions(knit_along))
    is_open = is_plan_open(knit_along, now)
    own = own_letters(request.participant, meetings, is_plan_open=is_open)
    if not is_open or own is None:
        if request.method == "POST":
            raise Http404
        return _page(request, {"is_open": is_open, "has_too_few": True})
    asked = request.POST if request.method == "POST" else request.GET
    form = LettersForm(
        asked if any(letter in asked for letter in knit_along.letters) else None,
        letters=knit_along.letters,
        yarns=own.yarns.chosen,
        order=own.order,
    )
    order, alert = own.order, ""
    if form.is_bound and form.is_valid():
        order = form.order
        if request.method == "POST":
            try:
                choose_letters(request.participant, order, now=now)
            except LettersRefused as refused:
                alert = str(refused)
            else:
                messages.success(request, _("These letters are yours now."))
                return redirect("schedule:letters", knit_along.slug)
    context = _open_context(request, own, order, form, meetings, now)
    context |= {"is_open": True, "alert": alert}
    return _page(request, context, refused=bool(alert or form.errors))


def _open_context(
    request: MemberRequest,
    own: OwnLetters,
    order: tuple[int, ...],
    form: LettersForm,
    meetings: list[Meeting],
    now: datetime,
) -> dict[str, object]:
    assert own.plan is not None
    letters_, fabric = request.knit_along.letters, fabric_of(request.knit_along)
    asked = [one.as_meeting() for one in meetings]
    assignment = come_out(own.yarns, order, asked, fabric, own.needs)
    pairs = met_pairs(own.yarns, assignment, readable_meetings(request.participant, now))
    best, second = own.plan.best, own.plan.runner_up
    return {
        "own": own,
        "form": form,
        "rows": [
            LetterRow(letter, own.yarns.chosen[place], form[letter])
            for letter, place in zip(letters_, order, strict=True)
        ],
        "short": _short(own, assignment, request.user),
        "plan_short": len(best.short),
        "pairs": [row_of(pair) for pair in pairs],
        "unread": sum(not pair.reads for pair in pairs),
        "is_tried": order != own.order,
        "is_plan": order == best.yarns,
        "changes": _changes(own, order, best, letters_),
        "plan_unread": sum(not outcome.reads for outcome in best.outcomes),
        "runner_up": _changes(own, best.yarns, second, letters_) if second else [],
        "runner_up_unread": sum(not one.reads for one in second.outcomes) if second else 0,
        "equally_good": own.plan.equally_good,
    }


def _short(own: OwnLetters, assignment: Assignment, reader: User) -> list[Words]:
    """Return what there is too little of for its letter, and what to buy, in words."""
    names = [yarn.name for yarn in own.yarns.chosen]
    imperial = reader.reads_imperial
    return [
        describe(shortage(line), names, READERS_LANGUAGE, imperial=imperial)
        for line in assignment.short
    ]


def _changes(
    own: OwnLetters, order: tuple[int, ...], other: Assignment, letters_: str
) -> list[tuple[str, str]]:
    """Return letter and yarn name wherever the other assignment differs from `order`."""
    places = zip(letters_, order, other.yarns, strict=True)
    return [(letter, own.yarns.chosen[new].name) for letter, old, new in places if old != new]


def row_of(pair: MetPair) -> PairRow:
    return PairRow(
        pair=pair,
        mark=MARKS[pair.grade],
        grade=_(GRADE_NAMES[pair.grade]),
        grade_words=_(GRADE_MEANINGS[pair.grade]),
        margin=margin_words(pair.margin),
        needs=_(GRADE_NAMES[pair.needs]),
    )


def _page(
    request: MemberRequest, context: dict[str, object], *, refused: bool = False
) -> HttpResponse:
    common = {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "palette",
        "opening": PlanOpening.objects.filter(knit_along=request.knit_along).first,
        "notes": PaletteNote.objects.filter(participant=request.participant),
    }
    status = 422 if refused else 200
    return render(request, "schedule/letters.html", common | context, status=status)


@require_safe
@never_kept
@member_required()
def own_notes(request: MemberRequest) -> HttpResponseBase:
    """Give the reader's own notes as a part for another page; 204 where there are none.

    Asked for by itself, it leads to the page that shows them.
    """
    if not wants_fragment(request):
        return redirect("schedule:letters", request.knit_along.slug)
    notes = list(PaletteNote.objects.filter(participant=request.participant))
    if not notes:
        return HttpResponse(status=204)
    return render(request, "schedule/letters.html#notes", {"notes": notes})


@require_POST
@never_kept
@member_required()
def reset_letters(request: MemberRequest) -> HttpResponseBase:
    """Go back to the plan's letters."""
    if forget_letters(request.participant):
        messages.success(request, _("Your letters are those of the plan again."))
    return redirect("schedule:letters", request.knit_along.slug)


@require_safe
@never_kept
@member_required()
def clue_colours(request: MemberRequest, number: int) -> HttpResponseBase:
    """Show what to expect of one's own yarns in a clue that may be read."""
    now = timezone.now()
    colours = colours_of(request.participant, number, now=now)
    if colours is None:
        raise Http404
    context = {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "clues",
        "number": number,
        "colours": colours,
        "meetings": [(meeting, row_of(pair)) for meeting, pair in colours.meetings],
        "swap": listed(colours.swap or ()),
    }
    return render(request, "schedule/clue_colours.html", context)
