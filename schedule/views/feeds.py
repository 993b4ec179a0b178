"""A participant's private calendar and news feed, and the page that hands out their addresses."""

import hashlib

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from kal.addresses import absolute
from kal.http import MemberRequest, member_required
from kal.languages import speaking_to
from kal.models import Participant
from schedule.actions.feed_keys import drop_feed_key, renew_feed_key
from schedule.models import FeedKey
from schedule.subscriptions import calendar_of, news_of
from schedule.views.reading import ASK_AGAIN, never_kept

CALENDAR_TYPE = "text/calendar; charset=utf-8"  # RFC 5545, 8.1
ATOM_TYPE = "application/atom+xml; charset=utf-8"  # RFC 4287, 7


@require_safe
@never_kept
def calendar_feed(request: HttpRequest, slug: str, token: str) -> HttpResponseBase:
    participant = _reader(slug, token)
    with speaking_to(participant.user):
        body = calendar_of(participant, timezone.now())
    return _answer(request, body, CALENDAR_TYPE)


@require_safe
@never_kept
def news_feed(request: HttpRequest, slug: str, token: str) -> HttpResponseBase:
    participant = _reader(slug, token)
    self_url = absolute(reverse("schedule:news_feed", args=[slug, token]))
    with speaking_to(participant.user):
        body = news_of(participant, timezone.now(), self_url=self_url)
    return _answer(request, body, ATOM_TYPE)


def _reader(slug: str, token: str) -> Participant:
    """Return whose address that is; 404 alike for one never made, renewed, or of who has left."""
    return get_object_or_404(FeedKey.objects.opening(slug, token)).participant


def _answer(request: HttpRequest, body: bytes, content_type: str) -> HttpResponseBase:
    """Return the feed, or 304 for a program that has these very bytes.

    The tag is made of the bytes alone, so it tells no more than they do.
    """
    tag = f'"{hashlib.sha256(body).hexdigest()[:32]}"'
    headers = {"ETag": tag, "Cache-Control": ASK_AGAIN, "X-Robots-Tag": "noindex"}
    full = HttpResponse(body, content_type=content_type, headers=headers)
    response = get_conditional_response(request, etag=tag, response=full)
    assert response is not None
    response.headers["Cache-Control"] = ASK_AGAIN
    return response


@require_safe
@never_kept
@member_required()
def subscribe(request: MemberRequest) -> HttpResponseBase:
    key = FeedKey.objects.standing().filter(participant=request.participant).first()
    context: dict[str, object] = {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "clues",
        "key": key,
    }
    if key:
        arguments = [request.knit_along.slug, key.token]
        calendar = absolute(reverse("schedule:calendar_feed", args=arguments))
        context |= {
            "calendar": calendar,
            "webcal": f"webcal:{calendar.partition(':')[2]}",
            "news": absolute(reverse("schedule:news_feed", args=arguments)),
        }
    return render(request, "schedule/subscribe.html", context)


@require_POST
@never_kept
@member_required()
def renew_feeds(request: MemberRequest) -> HttpResponseBase:
    had_one = FeedKey.objects.standing().filter(participant=request.participant).exists()
    renew_feed_key(request.participant, now=timezone.now())
    said = _("You have new addresses; the old ones answer no more.") if had_one else ""
    messages.success(request, said or _("Here are your addresses."))
    return redirect("schedule:subscribe", request.knit_along.slug)


@require_POST
@never_kept
@member_required(even_archived=True)
def stop_feeds(request: MemberRequest) -> HttpResponseBase:
    drop_feed_key(request.participant)
    messages.success(request, _("Your addresses answer no more."))
    return redirect("schedule:subscribe", request.knit_along.slug)
