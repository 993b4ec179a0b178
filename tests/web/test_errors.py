"""Error pages in the site's own look, with the right status."""

import pytest
from django.test import Client

from tests.pages import words

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("who", ["client", "as_sam"])
def test_no_such_page(request, who):
    response = request.getfixturevalue(who).get("/nowhere/")
    assert response.status_code == 404
    assert "<h1>There is no such page</h1>" in words(response)


def test_a_form_without_its_token():
    response = Client(enforce_csrf_checks=True).post("/sign-in/", {"email": "a@b.example"})
    assert response.status_code == 403
    assert "<h1>This form had grown old</h1>" in words(response)


def test_a_host_that_is_not_this_site(client):
    response = client.get("/", HTTP_HOST="elsewhere.example")
    assert response.status_code == 400
    assert "<h1>That request could not be read</h1>" in words(response)


def test_more_than_the_site_takes(client, settings):
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 1000
    response = client.post("/sign-in/", f"email={'x' * 2000}", "application/x-www-form-urlencoded")
    assert response.status_code == 413
    assert "<h1>That was too much at once</h1>" in words(response)


def test_something_broken_tells_nothing_of_why(client, monkeypatch):
    def fail(*args, **kwargs):
        raise RuntimeError("secret detail")

    monkeypatch.setattr("kal.views.home.next_steps", fail)
    client.raise_request_exception = False
    response = client.get("/")
    assert response.status_code == 500
    assert "<h1>Something broke here</h1>" in words(response)
    assert "secret detail" not in words(response)


@pytest.mark.parametrize("address", ["/", "/nowhere/", "/sign-in/"])
def test_pages_allow_no_inline_script_or_style(client, address):
    response = client.get(address)
    policy = response.headers["Content-Security-Policy"]
    assert "script-src 'self'" in policy
    assert "unsafe-inline" not in policy
    assert " style=" not in words(response)
    assert "onclick" not in words(response)


def test_the_address_of_a_button_is_answered_with_a_page(as_hana, knit_along):
    """Signing in anew leads back to where somebody was sent away from, be it a button."""
    response = as_hana.get(f"/k/{knit_along.slug}/desk/clues/1/ready/")
    assert response.status_code == 405
    assert "POST" in response["Allow"]
    assert "<h1>There is nothing to read here</h1>" in words(response)
    assert f'<a href="/k/{knit_along.slug}/">' in words(response)


def test_what_asks_for_no_page_gets_none(as_hana, knit_along):
    url = f"/k/{knit_along.slug}/desk/clues/1/ready/"
    assert as_hana.put(url).content == b""
    assert as_hana.get(url, headers={"Accept": "application/json"}).content == b""
