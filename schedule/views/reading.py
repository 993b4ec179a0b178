"""Pages where clues are read. Each reads the clock once, and a hidden clue answers as no clue."""

from collections.abc import Callable
from functools import wraps
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe
from django.views.defaults import page_not_found

from kal.http import MemberRequest, member_required, wants_fragment
from kal.private_files import hand_out
from schedule.listing import listing_for
from schedule.models import Attachment
from schedule.opened import note_opening
from schedule.passes import give_passes
from schedule.reading import open_clue
from schedule.shared_page import TEMPLATE, shared_page
from schedule.stamped import file_for
from schedule.visibility import readable_attachment

NEVER_KEEP = "private, no-store"
ASK_AGAIN = "private, no-cache"
KEEP_AN_HOUR = "private, max-age=3600"  # a file never changes, only whether it is still shown


def never_kept[**P](
    view: Callable[P, HttpResponseBase],
) -> Callable[P, HttpResponseBase]:
    """Let no cache keep what the view says, its 404 included, unless the view says otherwise.

    A 404 that a browser kept from before the instant would hide the clue after it.
    """

    @wraps(view)
    def answered(*args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        try:
            response = view(*args, **kwargs)
        except Http404 as missing:
            request = args[0]
            assert isinstance(request, HttpRequest)
            response = page_not_found(request, missing)
        response.headers.setdefault("Cache-Control", NEVER_KEEP)
        return response

    return answered


@require_safe
@never_kept
@member_required()
def clues(request: MemberRequest) -> HttpResponseBase:
    now = timezone.now()
    context = {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "clues",
        "listing": listing_for(request.participant, now),
    }
    fragment = "#list" if wants_fragment(request) else ""
    return render(request, f"schedule/clues.html{fragment}", context)


@require_safe
@never_kept
@member_required()
def clue(request: MemberRequest, number: int) -> HttpResponseBase:
    now = timezone.now()
    opened = open_clue(request.participant, number, now)
    if opened is None:
        raise Http404
    context = {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "clues",
        "clue": opened,
    }
    page = shared_page(request, opened)
    response = HttpResponse(page) if page else render(request, TEMPLATE, context)
    if opened.is_out and opened.revision and request.method == "GET":
        note_opening(request.participant.pk, opened.revision)
    if opened.is_out:
        response.headers["Cache-Control"] = ASK_AGAIN
        pdfs = ((pdf.url, pdf) for pdf in opened.content.pdfs)
        give_passes(request, response, pdfs, now=now)
    return response


@require_safe
@never_kept
@member_required()
def attachment(request: MemberRequest, number: int, key: UUID) -> HttpResponseBase:
    now = timezone.now()
    file = readable_attachment(request.participant, number, key, now)
    if file is None:
        raise Http404
    response = hand_out(request, file_for(file, request.participant))
    if file.clue.is_out(now):
        response.headers["Cache-Control"] = KEEP_AN_HOUR
        if file.kind == Attachment.Kind.PDF:
            give_passes(request, response, [(request.path, file)], now=now)
    return response
