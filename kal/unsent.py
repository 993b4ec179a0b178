"""What was sent by somebody who has been signed out meanwhile: handed back, to be sent again.

It is kept in the page alone and nowhere on the site, so that it goes with the window it was typed
in. Signing in makes old forms invalid, so a page open since then comes here too, and says as whom
it will be sent: on a shared computer that may be somebody else.
"""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import add_never_cache_headers

NEEDS_SIGN_IN = "needs_sign_in"  # marks the views that `kal.http.sign_in_required` guards
TOKEN = "csrfmiddlewaretoken"
WORDS = 20  # letters; what is shorter is a choice or a number (our choice)


def hand_back(request: HttpRequest) -> HttpResponse:
    """Return the page, 403, that shows what was typed and can send all of it to the same address.

    Only for what a page of this site has sent; see `came_from_here`.
    """
    fields = sent_fields(request)
    context = {
        "fields": fields,
        "words": [value for _, value in fields if len(value) >= WORDS or "\n" in value],
        "has_files": bool(request.FILES),
        "address": request.get_full_path(),
    }
    response = render(request, "unsent.html", context, status=403)
    add_never_cache_headers(response)
    return response


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Return what answers a form whose token does not hold; Django calls this."""
    view = request.resolver_match.func if request.resolver_match else None
    has_cookie = settings.CSRF_COOKIE_NAME in request.COOKIES
    # Nobody's code to sign in with is handed back, nor a press on a language.
    is_worth_it = getattr(view, NEEDS_SIGN_IN, False) and sent_fields(request)
    if is_worth_it and has_cookie and came_from_here(request):
        return hand_back(request)
    return render(request, "403_csrf.html", status=403)


def came_from_here(request: HttpRequest) -> bool:
    """Whether the browser says that a page of this site has sent the request (RFC 6454, 7).

    Another site's page cannot say so, and must not have a page of ours offer what it has made up.
    """
    here = f"{request.scheme}://{request.get_host()}"
    return request.headers.get("Origin") in {here, *settings.CSRF_TRUSTED_ORIGINS}


def sent_fields(request: HttpRequest) -> list[tuple[str, str]]:
    """Return what a form has sent, by name, but for its token."""
    return [
        (name, value) for name, values in request.POST.lists() if name != TOKEN for value in values
    ]
