"""Following every link a reader is shown, and guessing from each address what may lie beside it."""

import re
from collections import deque
from collections.abc import Iterator
from html.parser import HTMLParser
from typing import Any
from urllib.parse import urldefrag, urlencode, urljoin, urlsplit

from django.test import Client

from tests.embargo.answers import TOKEN, WAYS, Answer, answer_of

HOST = "http://testserver"
LINKS = ("href", "src", "action", "formaction", "poster", "data", "hx-get", "hx-post", "content")
NUMBER = re.compile(r"(?<=/)\d+(?=[/.?]|$)")
ENDINGS = (
    ".json",
    ".txt",
    ".xml",
    ".ics",
    ".pdf",
    ".md",
    "~",
    ".bak",
    "?format=json",
    "?download=1",
)
LOOKED_FOR = "canary"  # begins every secret, and is none
MOST = 1_500  # addresses of one reader; a site that leads further is to be looked at
TEXT = ("text/", "application/xml", "application/atom", "application/json")


class Links(HTMLParser):
    """Every address on a page, and what its search forms would ask."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._form: str | None = None
        self._fields: dict[str, str] = {}

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = {name: value or "" for name, value in attrs}
        self.found += [named[name] for name in LINKS if named.get(name)]
        self.found += [value for name, value in named.items() if name.startswith("data-")]
        self.found += [part.split()[0] for part in named.get("srcset", "").split(",") if part]
        if tag == "form" and named.get("method", "get").lower() == "get":
            self._form, self._fields = named.get("action", ""), {}
        elif self._form is not None and tag in ("input", "select", "textarea"):
            is_typed = named.get("type", "text") in ("text", "search") or tag == "textarea"
            self._fields[named.get("name", "")] = LOOKED_FOR if is_typed else named.get("value", "")

    def handle_endtag(self, tag: str) -> None:
        if tag == "form" and self._form is not None:
            self.found.append(f"{self._form}?{urlencode(self._fields)}")
            self._form = None


def links_of(page: str, address: str) -> Iterator[str]:
    """Yield the addresses of this site that a page leads to, without their fragments."""
    finder = Links()
    finder.feed(page)
    for link in finder.found:
        if " " in link.strip() or link.startswith(("mailto:", "data:", "tel:", "{")):
            continue
        whole = urldefrag(urljoin(f"{HOST}{address}", link.strip())).url
        if whole.startswith(f"{HOST}/"):
            parts = urlsplit(whole)
            yield f"{parts.path}?{parts.query}" if parts.query else parts.path


def neighbours(address: str) -> Iterator[str]:
    """Yield what somebody would try who knows this address and wants the next clue."""
    path = address.partition("?")[0]
    for found in NUMBER.finditer(path):
        for number in (int(found[0]) - 1, int(found[0]) + 1, 1, 2, 3):
            yield f"{path[: found.start()]}{max(number, 0)}{path[found.end() :]}"
    for ending in ENDINGS:
        yield path.rstrip("/") + ending
    yield path.rstrip("/") or "/"
    yield f"{path}/../1/"


def crawl(client: Client, starts: list[str]) -> Iterator[tuple[str, str, Answer]]:
    """Yield every answer within reach: address, way of asking, answer."""
    waiting, known = deque(starts), set(starts)
    while waiting:
        address = waiting.popleft()
        if address.startswith("/static/"):
            continue
        response: Any = client.get(address)
        kind = response.headers.get("Content-Type", "")
        page = response.content.decode() if kind.startswith(TEXT) and not response.streaming else ""
        ahead = [response.headers["Location"]] if response.has_header("Location") else []
        yield address, "GET", answer_of(response)
        for way in ("HEAD", "GET on a condition", "GET a range"):
            method, headers = WAYS[way]
            yield address, way, answer_of(getattr(client, method)(address, headers=headers))
        ahead += list(links_of(page, address)) if "html" in kind else []
        # Only what exists has neighbours worth trying; a guess is not guessed from again.
        guesses = neighbours(address) if response.status_code == 200 else ()
        for link in (*ahead, *guesses):
            if link.startswith("/") and TOKEN.sub(b"", link.encode()) and link not in known:
                known.add(link)
                waiting.append(link)
        assert len(known) <= MOST, f"The site leads to more than {MOST} addresses; see {address}."
