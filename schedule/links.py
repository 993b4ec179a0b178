"""Where the links of a clue's texts lead, as far as can be told without asking another site.

Other sites are never fetched: an organiser's page that fetched whatever address a text names
could be made to ask machines that only this one can reach.
"""

import re
from collections.abc import Iterator
from urllib.parse import urlsplit

from django.conf import settings
from django.urls import Resolver404, resolve

from schedule.markdown import links_in

HOST = re.compile(r"(?=.{4,253}$)([a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?\.)+[a-z0-9-]{2,63}", re.I)


def broken_links(text: str, files: set[str], clue_numbers: set[int]) -> Iterator[str]:
    """Yield each address in the Markdown that leads nowhere.

    `files` are the names of attached images, `clue_numbers` the clues that the knit-along has.
    """
    for address, is_picture in links_in(text):
        if not (is_picture and address in files) and not leads_somewhere(address, clue_numbers):
            yield address


def leads_somewhere(address: str, clue_numbers: set[int]) -> bool:
    """Whether an address is one of this site's pages, or could be one of another site's."""
    try:
        parts = urlsplit(address)
    except ValueError:
        return False
    if parts.scheme == "mailto":
        return bool(re.fullmatch(r"[^@\s]+@[^@\s]+", parts.path))
    if parts.scheme in {"http", "https"} and not address.startswith(f"{settings.BASE_URL}/"):
        return bool(HOST.fullmatch(parts.hostname or ""))
    return parts.path.startswith("/") and _is_ours(parts.path, clue_numbers)


def _is_ours(path: str, clue_numbers: set[int]) -> bool:
    try:
        match = resolve(path)
    except Resolver404:
        return False
    return match.kwargs.get("number", None) in {None, *clue_numbers}
