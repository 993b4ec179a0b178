"""The stitches and rows of a clue, and how far through it a row is."""

from collections.abc import Mapping
from dataclasses import dataclass

from django import forms
from django.http import Http404, HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from kal.http import MemberRequest, form_status, member_required
from schedule.own_pace import pace_of
from schedule.pattern.pace import hours_for
from schedule.pattern.stitches import CastOn, Part
from schedule.views.reading import never_kept
from schedule.yarn_forms import own_knitting_of
from schedule.yarn_plan import ClueYarn, YarnPlan, plan_for
from schedule.yarn_words import weight_as_given

ROWS_LISTED = 200  # our choice: a longer clue is listed every so many rows


@dataclass(frozen=True)
class PartRow:
    """One part of a clue in the table."""

    part: Part
    first_row: int
    last_row: int
    stitches: int
    per_cent: float
    yarn: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class RowShare:
    row: int
    stitches: int
    letter: str
    per_cent: float


class RowForm(forms.Form):
    """The row that the reader is on, counted within the clue."""

    def __init__(self, *args: object, most: int, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        wrong = _("This clue has rows 1 to %(most)d.") % {"most": most}
        self.fields["row"] = forms.IntegerField(
            label=_("I have finished row"),
            min_value=0,
            max_value=most,
            widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
            error_messages={"min_value": wrong, "max_value": wrong, "invalid": wrong},
        )


@require_safe
@never_kept
@member_required()
def clue_counts(request: MemberRequest, number: int) -> HttpResponseBase:
    """Show totals, each part's share and, for `?row=`, how far through the clue that is."""
    plan = plan_for(request.participant, timezone.now())
    found = next((clue for clue in plan.clues if clue.number == number), None)
    if found is None:
        raise Http404
    counted = found.counted
    form = RowForm(request.GET if "row" in request.GET else None, most=counted.knitted_rows)
    row = form.cleaned_data["row"] if form.is_bound and form.is_valid() else None
    imperial = request.user.reads_imperial
    pace = pace_of(own_knitting_of(request.participant))
    context = {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "clues",
        "clue": counted,
        "parts": part_rows(found, imperial=imperial),
        "yarn": weights(found.grams_of_parts(), imperial=imperial),
        "rows": row_shares(found) if counted.is_counted else [],
        "form": form,
        "row": row,
        "share": share_words(plan, found, row) if row is not None and counted.is_counted else None,
        "hours": hours_for(counted.stitches, pace),
        "pace": pace,
        "is_whole": plan.is_whole,
    }
    status = form_status(form)
    return render(request, "schedule/clue_counts.html", context, status=status)


def part_rows(clue: ClueYarn, *, imperial: bool) -> list[PartRow]:
    """Return the clue's parts with the rows that a knitter counts, a cast-on being row 0."""
    found, row, total = [], 0, max(clue.counted.stitches, 1)
    for part in clue.counted.parts:
        rows = 0 if isinstance(part, CastOn) and row == 0 else part.rows
        stitches = sum(part.row_counts)
        yarn = weights(clue.grams_of_part(part), imperial=imperial)
        found.append(PartRow(part, row + 1, row + rows, stitches, 100 * stitches / total, yarn))
        row += rows
    return found


def weights(grams: Mapping[str, float], *, imperial: bool) -> tuple[tuple[str, str], ...]:
    """Return each letter with its weight in words, by the alphabet."""
    return tuple(
        (letter, weight_as_given(grams[letter], imperial=imperial)) for letter in sorted(grams)
    )


def row_shares(clue: ClueYarn) -> list[RowShare]:
    """Return the clue's rows, or every so many of a long one, with the share that is done."""
    counted = clue.counted
    rows = [
        (count, part.letters[place % len(part.letters)])
        for part in counted.parts
        for place, count in enumerate(part.row_counts)
    ][counted.set_up_rows :]
    step = -(-len(rows) // ROWS_LISTED)
    return [
        RowShare(row, *rows[row - 1], 100 * float(counted.share_after(row)))
        for row in range(1, len(rows) + 1)
        if row % step == 0 or row == len(rows)
    ]


def share_words(plan: YarnPlan, clue: ClueYarn, row: int) -> dict[str, float]:
    """Return how many per cent of this clue, and of all clues there are yet, are done."""
    share = clue.counted.share_after(row)
    before = sum(each.counted.stitches for each in plan.clues if each.number < clue.number)
    total = sum(each.counted.stitches for each in plan.clues)
    done = share * clue.counted.stitches
    return {
        "clue": 100 * float(share),
        "all": 100 * float((before + done) / total),
        "left": int(clue.counted.stitches - done),
        "bar": 300 * float(share),
    }
