"""What a request that cannot be read, or cannot be served now, is answered with.

Without the request: whatever is wrong with it, or with the database, must not break its error
page too.
"""

import errno
import sys

from django.core.exceptions import RequestDataTooBig, TooManyFieldsSent, TooManyFilesSent
from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string

TOO_BIG = (RequestDataTooBig, TooManyFieldsSent, TooManyFilesSent)
# The disk is full, its quota is used up, or a file may not grow further (POSIX).
NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
TRY_AGAIN_IN = 60  # seconds; our choice


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Return the page for 413 when there was too much of it, for 400 otherwise."""
    status = 413 if isinstance(exception, TOO_BIG) else 400
    return HttpResponse(render_to_string(f"{status}.html"), status=status)


def server_error(request: HttpRequest) -> HttpResponse:
    """Return the page for 503 when disk or database let us down, for 500 when it is our fault."""
    what = _out_of_service(sys.exception())
    if not what:
        return HttpResponse(render_to_string("500.html"), status=500)
    page = render_to_string("503.html", {"what": what})
    return HttpResponse(page, status=503, headers={"Retry-After": str(TRY_AGAIN_IN)})


def _out_of_service(error: BaseException | None) -> str:
    """Return "disk" or "database", or nothing when it is neither that is at fault."""
    if isinstance(error, OSError) and error.errno in NO_ROOM:
        return "disk"
    if isinstance(error, OperationalError | InterfaceError):
        return "disk" if "disk" in str(error).lower() else "database"
    return ""
