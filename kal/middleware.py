"""Times are shown in the zone of the person who reads them."""

import zoneinfo
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils import timezone


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
