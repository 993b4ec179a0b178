"""What a request that cannot be read is answered with."""

from django.core.exceptions import RequestDataTooBig, TooManyFieldsSent, TooManyFilesSent
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string

TOO_BIG = (RequestDataTooBig, TooManyFieldsSent, TooManyFilesSent)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Return the page for 413 when there was too much of it, for 400 otherwise."""
    # Without the request: whatever is wrong with it must not break its error page too.
    status = 413 if isinstance(exception, TOO_BIG) else 400
    return HttpResponse(render_to_string(f"{status}.html"), status=status)
