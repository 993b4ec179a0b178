"""What was put right in the clues that are out: all of it on one page, each side by side."""

from django.http import HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from kal.http import MemberRequest, member_required
from schedule.comparing import changes_in
from schedule.views.reading import never_kept
from schedule.visibility import readable_errata


@require_safe
@never_kept
@member_required()
def errata(request: MemberRequest) -> HttpResponseBase:
    found = readable_errata(request.participant, timezone.now()).select_related("clue")
    context = _context(request) | {"errata": found.order_by("clue__number", "-number")}
    return render(request, "schedule/errata.html", context)


@require_safe
@never_kept
@member_required()
def erratum(request: MemberRequest, number: int, revision: int) -> HttpResponseBase:
    found = readable_errata(request.participant, timezone.now()).select_related("clue")
    shown = get_object_or_404(found, clue__number=number, number=revision)
    context = _context(request) | {"erratum": shown, "changes": changes_in(shown)}
    return render(request, "schedule/erratum.html", context)


def _context(request: MemberRequest) -> dict[str, object]:
    return {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "clues",
    }
