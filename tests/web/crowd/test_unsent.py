"""What is sent by somebody who is signed out meanwhile comes back, to be sent again."""

import re
from html import unescape
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from schedule.models import Question
from tests.pages import words
from tests.web.crowd.pages import at

pytestmark = pytest.mark.django_db

TYPED = 'Which edge <do> I pick up from?\r\nI have "two" & a half.'
HERE = {"Origin": "http://testserver"}
SAID = "<h1>Nothing was saved</h1>"
HIDDEN = re.compile(r'<input type="hidden" name="([^"]+)" value="([^"]*)">')


@pytest.fixture
def address(knit_along, clues):
    return at(knit_along, "ask")


@pytest.fixture
def strict():
    """Like a browser, it sends the token that a page of the site gave it."""
    return Client(enforce_csrf_checks=True)


def token_of(client, address):
    [token, *_] = re.findall(r'x-csrftoken": "(\w+)"', client.get(address).content.decode())
    return token


def form_of(response) -> tuple[str, dict[str, str]]:
    """Where the page's own form leads, and what it sends."""
    page = response.content.decode()
    main = page[page.index("<main") : page.index("</main>")]
    [action] = re.findall(r'<form method="post" action="([^"]+)"', main)
    sent = {name: unescape(value) for name, value in HIDDEN.findall(main)}
    return unescape(action), sent


def typed(token) -> dict[str, Any]:
    return {"csrfmiddlewaretoken": token, "about": "3", "words": TYPED}


def test_a_question_typed_before_one_was_signed_out_is_asked_after_all(
    strict, knit_along, address, mia
):
    strict.force_login(mia.user)
    token = token_of(strict, address)
    del strict.cookies["sessionid"]

    back = strict.post(address, typed(token), headers=HERE)
    assert back.status_code == 403
    assert SAID in words(back)
    assert "no-store" in back.headers["Cache-Control"]
    assert "Which edge &lt;do&gt; I pick up from?" in back.content.decode()
    assert 'href="/sign-in/" target="_blank"' in words(back)
    assert not Question.objects.exists()

    # Signing in makes a new token, so the page of before is answered by one that says as whom.
    strict.force_login(mia.user)
    strict.cookies["csrftoken"] = Client().get("/sign-in/").cookies["csrftoken"].value
    action, sent = form_of(back)
    again = strict.post(action, sent, headers=HERE)
    assert "to save it as Mia, send it again" in words(again)
    assert not Question.objects.exists()

    action, sent = form_of(again)
    assert strict.post(action, sent, headers=HERE).status_code == 302
    assert Question.objects.get().words == TYPED.replace("\r\n", "\n")


def test_it_says_that_a_file_has_to_be_chosen_again(client, address):
    photo = SimpleUploadedFile("mine.jpg", b"not kept")
    page = words(client.post(address, {"words": "as you see", "photo": photo}))
    assert "A file cannot be kept so" in page
    assert "not kept" not in page


def test_what_nobody_typed_is_not_shown_as_typed(client, address):
    page = client.post(address, {"place": "chosen"})
    assert "What you typed" not in words(page)
    assert form_of(page)[1]["place"] == "chosen"


def test_a_button_without_fields_leads_to_signing_in(client, address):
    assert client.post(address).headers["Location"] == f"/sign-in/?next={address}"


@pytest.mark.parametrize(
    "headers", [{}, {"Origin": "https://elsewhere.example"}, {"Origin": "null"}]
)
def test_what_another_site_made_up_is_not_offered(strict, address, mia, headers):
    strict.force_login(mia.user)
    token_of(strict, address)
    refused = strict.post(address, typed("x" * 64), headers=headers)
    assert refused.status_code == 403
    assert "<h1>This form had grown old</h1>" in words(refused)
    assert "Which edge" not in refused.content.decode()


def test_an_old_page_is_handed_back_to_whoever_is_signed_out_too(strict, address, mia):
    strict.force_login(mia.user)
    token_of(strict, address)
    del strict.cookies["sessionid"]
    back = strict.post(address, typed("x" * 64), headers=HERE)
    assert "You are signed out." in words(back)
    assert form_of(back)[1]["words"] == TYPED


def test_a_code_to_sign_in_with_is_not_handed_back(strict, address, mia):
    strict.force_login(mia.user)
    token_of(strict, address)
    pages = {"/sign-in/code/": {"code": "ABCD-EFGH"}, "/language/": {"language": "de"}}
    for page, sent in pages.items():
        refused = strict.post(page, sent, headers=HERE)
        assert "<h1>This form had grown old</h1>" in words(refused)
        assert "ABCD" not in words(refused)


def test_without_cookies_it_is_not_offered_for_ever(strict, address, mia):
    strict.force_login(mia.user)
    refused = strict.post(address, typed("x" * 64), headers=HERE)
    assert "<h1>This form had grown old</h1>" in words(refused)


@pytest.mark.parametrize("sent", [{}, {"words": TYPED}])
def test_a_part_of_a_page_is_refused_not_answered_with_another_page(client, address, sent):
    htmx = {"HX-Request": "true"}
    assert client.post(address, sent, headers=htmx).status_code == 403
    assert client.get(address, headers=htmx).status_code == 403
    back = client.get(address, headers=htmx | {"HX-History-Restore-Request": "true"})
    assert back.headers["Location"] == f"/sign-in/?next={address}"
