"""One page of every route that the demo's people are led to: without faults, in any window."""

from collections import deque
from collections.abc import Iterator

import pytest
from django.test import Client
from django.urls import Resolver404, resolve
from django.utils import timezone

from kal.demo.load import load_demo
from kal.models import User
from tests.browser.conftest import NARROWEST, PHONE, assert_accessible, assert_fits
from tests.conftest import signed_in
from tests.embargo.crawl import links_of

# Some of the routes that each is led to, the visitor last.
READERS = {
    "hana": {"kal:desk", "schedule:edit_clue", "schedule:dry_run", "kal:join_list"},
    "kit": {"palettes:palette", "palettes:shortlist", "schedule:clue", "schedule:yarn"},
    "edda": {"schedule:read_ahead"},
    "dora": {"palettes:new_kit"},
    "": {"account_login"},
}


def pages_of(client: Client, starts: list[str], seen: set[str]) -> Iterator[str]:
    """Yield the address of a page of each route within reach, which is then `seen`."""
    waiting, known = deque(starts), set(starts)
    while waiting:
        address = waiting.popleft()
        if (name := route_of(address)) in seen:
            continue
        response = client.get(address)
        links = [response.headers["Location"]] if response.has_header("Location") else []
        if response.status_code == 200 and response.headers["Content-Type"].startswith("text/html"):
            seen.add(name)
            yield address
            links += links_of(response.content.decode(), address)
        for link in links:
            if link not in known and link.startswith("/") and route_of(link):
                known.add(link)
                waiting.append(link)


def route_of(address: str) -> str:
    """Return the name of the route that an address takes, empty where none does."""
    try:
        return resolve(address.partition("?")[0]).view_name
    except Resolver404:
        return ""


@pytest.mark.django_db(transaction=True)
def test_every_page_is_accessible_and_fits_the_narrowest_window(live_server, page, sign_in):
    """The narrowest is that of WCAG 2.2, 1.4.10; axe-core's rules are those of 2.2, A and AA."""
    starts = ["/", *(f"/k/{knit_along.slug}/" for knit_along in load_demo(timezone.now()))]
    for name, led_to in READERS.items():
        page.context.clear_cookies()
        client = Client()
        if name:
            user = User.objects.get(email=f"{name}@knitters.example")
            client = signed_in(user)
            sign_in(user)
        seen: set[str] = set()
        for address in pages_of(client, starts, seen):
            page.goto(f"{live_server.url}{address}")
            assert_fits(page, NARROWEST)
            assert_fits(page, PHONE)
            assert_accessible(page)
        assert led_to <= seen, name
