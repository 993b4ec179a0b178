"""Signing in by a mailed code: the right person, the wrong code, too late, twice, too often."""

import re
from datetime import UTC, datetime, timedelta
from smtplib import SMTPServerDisconnected

import pytest
import time_machine
from allauth.account.models import EmailAddress
from django.core import mail
from django.test import Client
from django.urls import NoReverseMatch, reverse

from kal.models import User
from tests.builders import make_user
from tests.pages import words

pytestmark = pytest.mark.django_db

SIGN_IN = "/sign-in/"
CODE = "/sign-in/code/"
ADDRESS = "nell@knitters.example"


def ask(client: Client, email: str = ADDRESS, **more: str):
    return client.post(SIGN_IN, {"email": email} | more)


def mailed_code() -> str:
    found = re.search(r"^ +([A-Z-]+)$", str(mail.outbox[-1].body), flags=re.MULTILINE)
    assert found
    return found.group(1)


def is_signed_in(client: Client) -> bool:
    return "_auth_user_id" in client.session


def test_a_new_person_signs_in_by_the_code_alone(client):
    assert ask(client).headers["Location"] == CODE
    response = client.post(CODE, {"code": mailed_code()})
    assert response.headers["Location"] == reverse("kal:settings")
    user = User.objects.get(email=ADDRESS)
    assert is_signed_in(client)
    assert not user.has_usable_password()
    assert EmailAddress.objects.get(user=user).verified


def test_nothing_is_stored_of_an_address_that_was_only_typed(client):
    ask(client)
    assert not User.objects.exists()
    assert not EmailAddress.objects.exists()


def test_somebody_known_signs_in_and_stays_the_same_person(client):
    user = make_user("Nell", email=ADDRESS)
    ask(client, email="  Nell@Knitters.example ")
    response = client.post(CODE, {"code": mailed_code()})
    assert response.headers["Location"] == reverse("kal:home")
    assert client.session["_auth_user_id"] == str(user.pk)


@pytest.mark.parametrize("is_known", [True, False])
def test_the_pages_are_the_same_for_known_and_unknown_addresses(client, is_known):
    """Nobody can learn from this site whether an address has an account."""
    if is_known:
        make_user("Nell", email=ADDRESS)
    asked = ask(client)
    page = client.get(CODE)
    assert asked.status_code == 302
    assert f"A code is on its way to <strong>{ADDRESS}</strong>" in words(page)
    assert len(mail.outbox) == 1


def test_the_mail_holds_the_code_as_text_and_as_html(client):
    ask(client)
    (sent,) = mail.outbox
    code = mailed_code()
    assert sent.to == [ADDRESS]
    # A locked phone shows the subject to whoever is near.
    assert sent.subject == "Your code to sign in"
    assert isinstance(sent, mail.EmailMultiAlternatives)
    html = str(sent.alternatives[0][0])
    assert code in html
    assert "15 minutes" in html
    assert "15 minutes" in sent.body


def test_the_code_may_be_typed_small_and_without_its_dash(client):
    ask(client)
    client.post(CODE, {"code": mailed_code().lower().replace("-", " ")})
    assert is_signed_in(client)


def test_a_wrong_code_is_one_sentence_and_leaves_the_right_one_good(client):
    ask(client)
    response = client.post(CODE, {"code": "WRONG"})
    assert response.status_code == 422
    assert "That is not the code in the mail." in words(response)
    assert 'value="WRONG"' in words(response)
    client.post(CODE, {"code": mailed_code()})
    assert is_signed_in(client)


def test_an_empty_code_does_not_count_as_a_try(client):
    ask(client)
    for _ in range(5):
        response = client.post(CODE, {"code": ""})
        assert response.status_code == 422
    assert "Type the code from the mail." in words(response)
    client.post(CODE, {"code": mailed_code()})
    assert is_signed_in(client)


def test_the_third_wrong_code_ends_it(client):
    ask(client)
    code = mailed_code()
    for _ in range(3):
        response = client.post(CODE, {"code": "WRONG"})
    assert response.status_code == 422
    assert "one wrong code too many" in words(response)
    assert f'value="{ADDRESS}"' in words(response)
    client.post(CODE, {"code": code})
    assert not is_signed_in(client)


@pytest.mark.parametrize(("minutes", "is_good"), [(14.9, True), (15.1, False), (90, False)])
def test_a_code_lasts_a_quarter_of_an_hour(client, minutes, is_good):
    start = datetime(2027, 1, 10, 9, tzinfo=UTC)
    with time_machine.travel(start) as clock:
        ask(client)
        clock.move_to(start + timedelta(minutes=minutes))
        response = client.post(CODE, {"code": mailed_code()})
    assert is_signed_in(client) == is_good
    if not is_good:
        assert response.status_code == 422
        assert "That code has expired or was used already" in words(response)
        assert f'value="{ADDRESS}"' in words(response)


def test_a_code_works_once(client):
    ask(client)
    code = mailed_code()
    client.post(CODE, {"code": code})
    client.post(reverse("account_logout"))
    response = client.post(CODE, {"code": code})
    assert response.status_code == 422
    assert "That code has expired or was used already" in words(response)
    assert not is_signed_in(client)


def test_a_code_is_no_good_in_another_browser(client):
    ask(client)
    stranger = Client()
    assert stranger.post(CODE, {"code": mailed_code()}).status_code == 422
    assert not is_signed_in(stranger)


def test_a_later_code_replaces_the_earlier(client):
    ask(client)
    first = mailed_code()
    ask(client)
    assert client.post(CODE, {"code": first}).status_code == 422
    client.post(CODE, {"code": mailed_code()})
    assert is_signed_in(client)


def test_the_code_page_without_a_code_asked_for_says_so(client):
    response = client.get(CODE, follow=True)
    assert response.redirect_chain == [(SIGN_IN, 302)]
    assert "ask for a new one here" in words(response)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("", "Type the mail address the code should go to."),
        ("nell", "That is not a mail address; it needs an @, like name@example.org."),
    ],
)
def test_a_bad_address_is_one_sentence(client, typed, sentence):
    response = ask(client, email=typed)
    assert response.status_code == 422
    assert sentence in words(response)
    assert not mail.outbox


def test_a_fourth_code_within_a_minute_has_to_wait(client):
    for _ in range(3):
        assert ask(client).status_code == 302
    response = ask(client)
    assert response.status_code == 429
    assert "Too many tries in a short time" in words(response)
    assert f'value="{ADDRESS}"' in words(response)
    assert len(mail.outbox) == 3


def test_one_machine_cannot_ask_for_codes_without_end():
    """The count is kept by the address of the machine, not by the browser's cookies."""
    statuses = [ask(Client(), email=f"nell{n}@knitters.example").status_code for n in range(31)]
    assert statuses == [302] * 30 + [429]


def test_guessing_is_limited_however_many_codes_are_asked_for(client, settings):
    settings.ACCOUNT_RATE_LIMITS = settings.ACCOUNT_RATE_LIMITS | {"confirm_login_code": "2/m/ip"}
    ask(client)
    statuses = [client.post(CODE, {"code": "WRONG"}).status_code for _ in range(3)]
    assert statuses == [422, 422, 429]


def test_a_mail_server_that_is_down_is_told_of(client, monkeypatch, caplog):
    def refuse(*args, **kwargs):
        raise SMTPServerDisconnected

    monkeypatch.setattr("django.core.mail.EmailMultiAlternatives.send", refuse)
    response = ask(client)
    assert response.status_code == 503
    assert "The mail could not be sent just now" in words(response)
    assert "could not be mailed" in caplog.text


def test_signing_in_leads_back_to_where_the_person_was_headed(client):
    make_user("Nell", email=ADDRESS)
    headed = "/k/harbour/join/?code=ABCD-EFGH"
    asked = ask(client, next=headed)
    page = client.get(asked.headers["Location"])
    assert f'name="next" value="{headed}"' in words(page)
    response = client.post(CODE, {"code": mailed_code(), "next": headed})
    assert response.headers["Location"] == headed


def test_a_new_person_is_asked_their_name_on_the_way(client):
    ask(client)
    response = client.post(CODE, {"code": mailed_code(), "next": "/new/"})
    assert response.headers["Location"] == "/settings/?next=/new/"


@pytest.mark.parametrize("elsewhere", ["https://elsewhere.example/", "//elsewhere.example"])
def test_nobody_is_led_to_another_site(client, elsewhere):
    make_user("Nell", email=ADDRESS)
    ask(client, next=elsewhere)
    response = client.post(CODE, {"code": mailed_code(), "next": elsewhere})
    assert response.headers["Location"] == "/"


def test_somebody_signed_in_has_no_need_of_these_pages(as_sam):
    assert as_sam.get(SIGN_IN).headers["Location"] == "/"
    assert as_sam.post(CODE, {"code": "X"}).headers["Location"] == "/"


def test_a_closed_account_stays_closed(client):
    make_user("Nell", email=ADDRESS, is_active=False)
    ask(client)
    response = client.post(CODE, {"code": mailed_code()}, follow=True)
    assert "This account is closed" in words(response)
    assert not is_signed_in(client)


def test_signing_out(as_sam):
    assert "Sign out?" in words(as_sam.get(reverse("account_logout")))
    as_sam.post(reverse("account_logout"))
    assert not is_signed_in(as_sam)


@pytest.mark.parametrize("method", ["put", "delete"])
@pytest.mark.parametrize("address", [SIGN_IN, CODE])
def test_other_methods_are_refused(client, method, address):
    assert getattr(client, method)(address).status_code == 405


@pytest.mark.parametrize(
    "name",
    ["account_signup", "account_reset_password", "account_set_password", "account_change_password"],
)
def test_no_page_of_passwords_exists(name):
    with pytest.raises(NoReverseMatch):
        reverse(name)
