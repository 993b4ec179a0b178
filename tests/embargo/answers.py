"""What a client can learn from an answer: its status, headers and every byte of its body."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.core.signals import request_finished
from django.db import close_old_connections
from django.test import Client

TOKEN = re.compile(rb"""(csrfmiddlewaretoken" value=|"x-csrftoken": |csrftoken=)"?[A-Za-z0-9]+""")

# Ways of asking that change nothing: by method, by condition, by range, and as htmx asks.
WAYS: dict[str, tuple[str, dict[str, str]]] = {
    "GET": ("get", {}),
    "HEAD": ("head", {}),
    "OPTIONS": ("options", {}),
    "GET on a condition": (
        "get",
        {"If-Modified-Since": "Thu, 01 Jan 2026 00:00:00 GMT", "If-None-Match": '"0"'},
    ),
    "GET a range": ("get", {"Range": "bytes=0-10", "If-Match": "*"}),
    "GET a fragment": ("get", {"HX-Request": "true"}),
}


@dataclass(frozen=True)
class Answer:
    """Everything of one answer as bytes, with tokens that change by themselves masked."""

    status: int
    everything: bytes

    def holds(self, secret: bytes) -> bool:
        """A number only where it stands alone: inside random keys any digits turn up by chance."""
        if secret.isdigit():
            alone = rb"(?<![0-9A-Za-z])%s(?![0-9A-Za-z])" % secret
            return re.search(alone, self.everything) is not None
        return secret in self.everything

    def finds(self, secrets: Iterable[bytes]) -> list[bytes]:
        return [secret for secret in secrets if self.holds(secret)]


def ask(client: Client, way: str, address: str) -> Answer:
    method, headers = WAYS[way]
    return answer_of(getattr(client, method)(address, headers=headers))


def answer_of(response: Any) -> Answer:
    body = b"".join(response) if response.streaming else response.content
    headers = [f"{name}: {value}".encode() for name, value in sorted(response.headers.items())]
    cookies = [morsel.OutputString().encode() for morsel in response.cookies.values()]
    # Closing ends the request, which would close the test's own connection on PostgreSQL.
    request_finished.disconnect(close_old_connections)
    response.close()
    request_finished.connect(close_old_connections)
    everything = b"\n".join((str(response.status_code).encode(), *headers, *cookies, body))
    return Answer(response.status_code, TOKEN.sub(rb"\1masked", everything))
