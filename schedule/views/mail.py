"""Pages about the mail that notices are: what was sent, and how to stop it."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import ngettext
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from kal.actions.people import keep_wishes
from kal.http import MemberRequest, organiser_required
from kal.models import Participant
from schedule import actions
from schedule.models import Notice
from schedule.notices.emails import participant_of
from schedule.views.reading import never_kept

MOST_SHOWN = 200  # failures on one page; a list longer than that has one cause


@require_safe
@never_kept
@organiser_required
def notices(request: MemberRequest) -> HttpResponseBase:
    ledger = Notice.objects.of_knit_along(request.knit_along)
    context = {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "desk",
        "desk_section": "notices",
        "events": ledger.counted_by_event(),
        "troubled": ledger.troubled().for_mail()[:MOST_SHOWN],
        "given_up": ledger.given_up().count(),
    }
    return render(request, "schedule/notices.html", context)


@require_POST
@never_kept
@organiser_required
def retry_notices(request: MemberRequest) -> HttpResponseBase:
    """Try once more what was given up for this knit-along."""
    count = actions.retry_notices(request.knit_along, by=request.user, now=timezone.now())
    messages.success(
        request,
        ngettext(
            "{count} notice is tried again.", "{count} notices are tried again.", count
        ).format(count=count),
    )
    return redirect("schedule:notices", request.knit_along.slug)


@csrf_exempt  # the signed token is the permission; a mail program posts without a session
@require_http_methods(["GET", "HEAD", "POST"])
@never_kept
def unsubscribe(request: HttpRequest, slug: str, token: str) -> HttpResponseBase:
    """Turn one participant's mail off by one POST (RFC 8058); a GET only asks."""
    pk = participant_of(token)
    if pk is None:
        raise Http404
    participant = get_object_or_404(
        Participant.objects.select_related("knit_along"), pk=pk, knit_along__slug=slug
    )
    if request.method == "POST":
        participant.wants_notices = False
        keep_wishes(participant, now=timezone.now())
    context = {"knit_along": participant.knit_along, "wants_notices": participant.wants_notices}
    return render(request, "schedule/unsubscribe.html", context)
