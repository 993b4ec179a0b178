"""Whoever follows every link, and guesses from each, finds nothing of a clue before its instant."""

import logging
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from tests.builders import NOON
from tests.embargo.answers import answer_of
from tests.embargo.crawl import crawl, links_of, neighbours
from tests.embargo.test_embargo import READERS

SECOND = timedelta(seconds=1)
ODD_METHODS = ("PUT", "PATCH", "DELETE", "TRACE", "PROPFIND", "SEARCH")


def starts(world):
    slug = world.knit_along.slug
    return ["/", f"/k/{slug}/", f"/k/{slug}/clues/", f"/k/{slug}/clues/1/"]


def secrets_of(world, numbers):
    return [secret for number in numbers for secret in world.secrets[number].all]


@pytest.mark.parametrize("reader", READERS)
def test_no_link_and_no_guess_beside_one_leads_to_a_hidden_clue(world, reader):
    secrets = secrets_of(world, (1, 2, 3))
    found = [
        (address, way, secret.decode())
        for address, way, answer in crawl(world.readers[reader], starts(world))
        for secret in answer.finds(secrets)
    ]
    assert found == []


def test_the_same_crawl_finds_the_clue_and_its_files_one_second_after(world, clock):
    """Else the crawl above proves nothing."""
    clock.move_to(NOON + SECOND)
    secret, found = world.secrets[1], set[str]()
    for _, _, answer in crawl(world.readers["participant"], starts(world)):
        found |= {text.decode() for text in answer.finds(secret.all)}
        late = set(answer.finds(secrets_of(world, (2, 3))))
        sizes = {size.encode() for size in secret.sizes}
        assert late <= sizes  # all files of this test have one size
    assert {secret.body, secret.title, secret.file_name, secret.content} <= found


@pytest.mark.parametrize("reader", READERS)
def test_odd_methods_and_error_pages_hold_nothing(world, reader, caplog):
    caplog.set_level(logging.CRITICAL, "django")
    slug, secrets = world.knit_along.slug, secrets_of(world, (1, 2, 3))
    client: Any = world.readers[reader]
    strict: Any = Client(enforce_csrf_checks=True)
    strict.cookies = client.cookies
    for address in (*starts(world), f"/k/{slug}/desk/clues/1/", "/nowhere/"):
        for method in ODD_METHODS:
            assert answer_of(client.generic(method, address)).finds(secrets) == []
        assert answer_of(strict.post(address)).finds(secrets) == []
        elsewhere: Any = client.get(address, HTTP_HOST="elsewhere.example")
        assert answer_of(elsewhere).finds(secrets) == []


def test_links_are_found_wherever_a_page_may_have_them():
    page = """
        <a href="next/#part">n</a> <img src="/i.webp" srcset="/i2.webp 2x, /i3.webp 3x">
        <form action="/find/"><input name="q"><input type="hidden" name="page" value="2"></form>
        <button hx-post="/do/">b</button> <a href="mailto:a@b.example">m</a>
        <a href="https://elsewhere.example/">e</a> <div data-url="/later/"></div>
    """
    assert set(links_of(page, "/k/x/")) == {
        *("/k/x/next/", "/i.webp", "/i2.webp", "/i3.webp", "/find/"),
        *("/find/?q=canary&page=2", "/do/", "/later/"),
    }


def test_neighbours_are_the_numbers_beside_and_other_endings():
    tried = set(neighbours("/k/x/clues/2/"))
    assert {"/k/x/clues/1/", "/k/x/clues/3/", "/k/x/clues/2.json", "/k/x/clues/2"} <= tried
