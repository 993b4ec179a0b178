"""What is done around every request: it is watched, and speaks its reader's language and zone."""

import logging
import re
import secrets
import time
import zoneinfo
from collections.abc import Callable

from django.conf import settings
from django.core.exceptions import MiddlewareNotUsed
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone, translation
from django.utils.cache import patch_vary_headers

from kal import metrics
from kal.languages import language_for
from kal.logs import request_id

METHOD_NOT_ALLOWED = 405
SAFE_ID = re.compile(r"[0-9A-Za-z-]{8,64}")
log = logging.getLogger("kal.requests")


class WatchMiddleware:
    """Time each request, count it and write it down, by the name of its page and nothing else.

    Stands before all others, and not at all unless settings ask for metrics or for JSON lines.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.counts, self.logs = bool(settings.METRICS_TOKEN), settings.LOG == "json"
        if not (self.counts or self.logs):
            raise MiddlewareNotUsed
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        began = time.perf_counter()
        under_way = request_id.set(_request_id(request))
        try:
            response = self.get_response(request)
            seconds = time.perf_counter() - began
            page = _page(request)
            if self.counts:
                metrics.count_request(page, request.method or "", response.status_code, seconds)
            if self.logs:
                facts = {"page": page, "method": request.method, "status": response.status_code}
                log.info("answered", extra={"facts": facts | {"ms": round(seconds * 1000, 1)}})
            return response
        finally:
            request_id.reset(under_way)


def _request_id(request: HttpRequest) -> str:
    """Return the proxy's name for the request if it is one that can be written down."""
    given = request.headers.get("X-Request-ID", "")
    return given if SAFE_ID.fullmatch(given) else secrets.token_hex(16)


def _page(request: HttpRequest) -> str:
    if request.resolver_match:
        return request.resolver_match.view_name
    return "static" if request.path_info.startswith(settings.STATIC_URL) else "none"


class ReaderLanguageMiddleware:
    """Speak the reader's language for the request, and say so to caches."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        language = language_for(request)
        with translation.override(language):
            response = self.get_response(request)
        # Neither belongs on a file: it is the same in every language, and may be kept by all.
        if response.get("Content-Type", "").startswith("text/html"):
            response.headers.setdefault("Content-Language", language)
            patch_vary_headers(response, ("Accept-Language", "Cookie"))
        return response


class NothingToReadMiddleware:
    """Answer whoever opens the address of a form's button with a page that says so.

    Signing in anew leads back to where somebody was sent away from, be it a button; and an address
    may be opened again from a browser's history.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        is_opened = request.method == "GET" and request.accepts("text/html")
        if response.status_code != METHOD_NOT_ALLOWED or not is_opened:
            return response
        slug = request.resolver_match.kwargs.get("slug") if request.resolver_match else None
        page = render(request, "405.html", {"slug": slug}, status=METHOD_NOT_ALLOWED)
        page["Allow"] = response["Allow"]
        return page


class ReaderZoneMiddleware:
    """Activate the signed-in reader's own time zone for the request, else leave UTC."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        zone = getattr(request.user, "zone", "") if request.user.is_authenticated else ""
        if not zone:
            return self.get_response(request)
        with timezone.override(zoneinfo.ZoneInfo(zone)):
            return self.get_response(request)
