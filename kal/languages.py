"""The languages the site speaks, and which of them a reader gets: the one home of both."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from django.conf import settings
from django.http import HttpRequest
from django.utils import translation

if TYPE_CHECKING:
    from kal.models import User


def is_spoken(code: str) -> bool:
    """Return whether the site has words in that language."""
    return code in dict(settings.LANGUAGES)


def language_of(user: "User") -> str:
    """Return the language in which to write to somebody who is not here: a mail, a feed."""
    return user.language if is_spoken(user.language) else settings.LANGUAGE_CODE


def language_for(request: HttpRequest) -> str:
    """Return the language of a page: the reader's choice, else what their browser asks for."""
    user = request.user
    chosen = user.language if user.is_authenticated else ""
    return chosen if is_spoken(chosen) else translation.get_language_from_request(request)


@contextmanager
def speaking_to(user: "User") -> Iterator[None]:
    """Speak the language of somebody who is not here."""
    with translation.override(language_of(user)):
        yield


def in_every_language[Words](compose: Callable[[], Words]) -> dict[str, Words]:
    """Return what `compose` says in each of the languages, by its code."""
    said = {}
    for code, _name in settings.LANGUAGES:
        with translation.override(code):
            said[code] = compose()
    return said
