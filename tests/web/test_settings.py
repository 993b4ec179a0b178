"""A person's own settings, and the mail page that exists only in the demo."""

import re

import pytest
from django.core import mail

from kal.demo_mail import MOST_KEPT, DemoMailBackend, kept_mails, newest_first
from kal.models import User
from tests.builders import make_user
from tests.conftest import signed_in
from tests.pages import words

SETTINGS = "/settings/"
GOOD = {"name": "Sam", "zone": "Asia/Tokyo", "units": "imperial"}


def test_a_visitor_is_asked_to_sign_in(client):
    assert client.get(SETTINGS).headers["Location"] == "/sign-in/?next=/settings/"


def test_somebody_new_is_welcomed_and_their_zone_guessed(db):
    client = signed_in(make_user(name=""))
    page = words(client.get(SETTINGS))
    assert "<h1>Welcome</h1>" in page
    assert "data-guess-zone" in page


def test_somebody_known_keeps_the_zone_they_chose(as_sam):
    page = words(as_sam.get(SETTINGS))
    assert "<h1>Your settings</h1>" in page
    assert "data-guess-zone" not in page


def test_saving_leads_on_to_where_the_person_was_headed(as_sam, sam):
    response = as_sam.post(SETTINGS, GOOD | {"next": "/k/harbour/join/"})
    assert response.headers["Location"] == "/k/harbour/join/"
    sam.refresh_from_db()
    assert (sam.name, sam.zone, sam.units) == ("Sam", "Asia/Tokyo", "imperial")


def test_saving_leads_home_otherwise(as_sam):
    assert as_sam.post(SETTINGS, GOOD).headers["Location"] == "/"


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("name", " ", "Type a name for others to know you by."),
        ("zone", "Europe/Atlantis", "Choose a time zone from the list."),
        ("zone", "../../etc/passwd", "Choose a time zone from the list."),
    ],
)
def test_a_bad_setting_is_one_sentence_and_changes_nothing(as_sam, sam, field, typed, sentence):
    response = as_sam.post(SETTINGS, GOOD | {field: typed})
    assert response.status_code == 422
    assert sentence in words(response)
    sam.refresh_from_db()
    assert sam.zone == "UTC"


def chosen_zones(client):
    page = client.get(SETTINGS).content.decode()
    return re.findall(r'<option value="([^"]+)" selected>', page[page.index('name="zone"') :])[:1]


@pytest.mark.parametrize(
    ("sent", "kept"),
    [
        ("Asia/Calcutta", "Asia/Kolkata"),  # as several browsers call it
        ("GB", "GB"),  # London, Jersey, Guernsey or the Isle of Man
        ("Etc/GMT-3", "Etc/GMT-3"),
    ],
)
def test_an_older_name_of_a_zone_is_taken_and_stays_chosen(as_sam, sam, sent, kept):
    assert as_sam.post(SETTINGS, GOOD | {"zone": sent}).status_code == 302
    sam.refresh_from_db()
    assert sam.zone == kept
    assert chosen_zones(as_sam) == [kept]
    refused = as_sam.post(SETTINGS, GOOD | {"zone": sent, "name": ""})
    assert f'<option value="{kept}" selected>' in refused.content.decode()


def test_a_zone_stored_under_an_older_name_is_shown_by_its_new_one(as_sam, sam):
    User.objects.filter(pk=sam.pk).update(zone="Europe/Kiev")
    assert chosen_zones(as_sam) == ["Europe/Kyiv"]


def test_nothing_else_of_an_account_can_be_set(as_sam, sam):
    as_sam.post(SETTINGS, GOOD | {"may_host": "on", "email": "other@knitters.example"})
    sam.refresh_from_db()
    assert not sam.may_host
    assert sam.email.startswith("sam")


def test_other_methods_are_refused(as_sam):
    assert as_sam.delete(SETTINGS).status_code == 405


class TestDemoMail:
    def test_the_page_does_not_exist_outside_the_demo(self, client, db):
        assert client.get("/demo/mail/").status_code == 404

    def test_the_page_shows_the_code_of_a_sign_in(self, client, db, settings):
        settings.DEMO = True
        client.post("/sign-in/", {"email": "nell@knitters.example"})
        DemoMailBackend().send_messages(mail.outbox)
        page = words(client.get("/demo/mail/"))
        code = next(line.strip() for line in mail.outbox[0].body.splitlines() if line[:1] == " ")
        assert f"Your code to sign in: {code} Type it" in page
        assert "To nell@knitters.example" in page

    def test_the_newest_mail_comes_first(self, client, db, settings):
        settings.DEMO = True
        for subject in ("First", "Second"):
            DemoMailBackend().send_messages(
                [mail.EmailMessage(subject, "Hello", to=["a@b.example"])]
            )
        page = words(client.get("/demo/mail/"))
        assert page.index("Second") < page.index("First")

    def test_mail_is_printed_to_the_terminal(self, capsys):
        DemoMailBackend().send_messages([mail.EmailMessage("Hé", "Stitch 5", to=["a@b.example"])])
        printed = capsys.readouterr().out
        assert "To: a@b.example\nSubject: Hé\n\nStitch 5" in printed

    def test_only_so_many_mails_are_kept(self):
        messages = [mail.EmailMessage(f"Mail {n}", "x", to=["a@b.example"]) for n in range(3)]
        for _ in range(MOST_KEPT // 3 + 2):
            DemoMailBackend().send_messages(messages)
        assert len(newest_first()) == MOST_KEPT

    def test_words_of_any_script_survive(self):
        DemoMailBackend().send_messages([mail.EmailMessage("編み物", "ずっと", to=["a@b.example"])])
        (kept,) = kept_mails(1)
        assert (kept.subject, kept.body.strip()) == ("編み物", "ずっと")

    def test_a_page_without_mail_says_what_to_do(self, client, db, settings):
        settings.DEMO = True
        assert "Sign in with any address" in words(client.get("/demo/mail/"))
