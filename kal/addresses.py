"""Whole addresses of this site, for what is read elsewhere: a mail, a calendar, a feed."""

from urllib.parse import urlsplit

from django.conf import settings


def absolute(path: str) -> str:
    """Return the address of a page with the site's scheme and host before its path."""
    return f"{settings.BASE_URL}{path}"


def site_host() -> str:
    """Return the site's host name, as ids that must be its own end in it."""
    return urlsplit(settings.BASE_URL).hostname or "localhost"
