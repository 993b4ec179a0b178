"""Whoever reads gets their own language: on pages, in mail, in feeds and on paper."""

import re
from datetime import timedelta

import pytest
from django.core import mail
from django.urls import reverse
from django.utils import translation

from kal.models import User
from palettes.models import Yarn
from schedule.actions.feed_keys import renew_feed_key
from schedule.models import FeedKey
from schedule.notices.sweep import sweep
from tests.builders import (
    NOON,
    make_clue,
    make_knit_along,
    make_palette,
    make_participant,
    make_yarn,
)

pytestmark = pytest.mark.django_db

# Words that stand on nearly every English page and in no German one.
ENGLISH = re.compile(r"\b(the|your|and|with|this|which|of|are)\b", re.IGNORECASE)
TAGS = re.compile(r"<(script|style|footer|option).*?</\1>|<[^>]+>", re.DOTALL)
# Numbers in attributes are for programs, whatever the language.
LOCALISED = re.compile(
    r"\b(?:x|y|x1|x2|y1|y2|cx|cy|r|rx|width|height|points|d|viewBox|transform|value|min|max|step)="
    r'"[^"]*\d,\d{1,2}(?!\d)[^"]*"'
)


@pytest.fixture
def knit_along():
    return make_knit_along(title="Hafenlichter", theme="Abends am Kai.")


@pytest.fixture
def gerda(knit_along):
    """A participant who reads German."""
    reader = make_participant(knit_along, "Gerda")
    User.objects.filter(pk=reader.user_id).update(language="de", zone="Europe/Berlin")
    reader.user.refresh_from_db()
    return reader


@pytest.fixture
def as_gerda(client, gerda):
    client.force_login(gerda.user)
    return client


def spoken(page):
    return " ".join(TAGS.sub(" ", page.content.decode()).split())


class TestPages:
    @pytest.mark.parametrize(
        ("name", "says"),
        [
            ("kal:prepare", "Spannen"),
            ("palettes:palette", "Meine Palette"),
            ("palettes:gallery", "Galerie"),
            ("palettes:history", "Was ich eingetragen habe"),
            ("palettes:photos", "Garne in einem Foto messen"),
            ("palettes:shortlist", "Vorauswahl"),
            ("schedule:clues", "Clues"),
            ("schedule:subscribe", "Kalender"),
            ("schedule:letters", "Meine Buchstaben"),
            ("kal:membership", "Meine Mitgliedschaft"),
        ],
    )
    def test_a_page_speaks_german_and_nothing_else(self, as_gerda, gerda, name, says):
        page = as_gerda.get(reverse(name, args=[gerda.knit_along.slug]))
        assert says in spoken(page)
        assert ENGLISH.findall(spoken(page)) == []
        assert '<html lang="de"' in page.content.decode()
        assert page.headers["Content-Language"] == "de"

    def test_the_desk_speaks_german_too(self, client, knit_along):
        hana = make_participant(knit_along, "Hana", "organiser")
        User.objects.filter(pk=hana.user_id).update(language="de")
        client.force_login(User.objects.get(pk=hana.user_id))
        for name in ("desk", "edit", "people", "codes", "join_list", "audit_log"):
            page = client.get(reverse(f"kal:{name}", args=[knit_along.slug]))
            # The standard is quoted by its name.
            assert ENGLISH.findall(spoken(page)) == [], name
        for name in ("desk_clues", "notices", "glossary", "letter_plan", "dry_run"):
            page = client.get(reverse(f"schedule:{name}", args=[knit_along.slug]))
            assert ENGLISH.findall(spoken(page)) == [], name

    def test_numbers_for_programs_keep_their_point(self, as_gerda, gerda):
        palette = make_palette(gerda)
        for number, colour in enumerate((20.5, 55.25, 88.75)):
            make_yarn(palette, name=f"Garn {number}", lab_l=colour, place=Yarn.Place.CHOSEN)
        for name in ("palettes:palette", "palettes:pictures"):
            page = as_gerda.get(reverse(name, args=[gerda.knit_along.slug])).content.decode()
            assert "<svg" in page or "<img" in page
            assert LOCALISED.findall(page) == []

    def test_grades_are_in_german_and_figures_stay_on_their_side_of_a_bound(self, as_gerda, gerda):
        palette = make_palette(gerda)
        for number, light in enumerate((20.9, 38.8, 91.2)):
            make_yarn(palette, name=f"Garn {number}", lab_l=light, place=Yarn.Place.CHOSEN)
        for name in ("palettes:palette", "palettes:pictures"):
            page = spoken(as_gerda.get(reverse(name, args=[gerda.knit_along.slug])))
            assert "brauchbar" in page
            assert re.search(r"\b(strong|workable|close|lost)\b", page) is None, name
        page = as_gerda.get(reverse("palettes:palette", args=[gerda.knit_along.slug]))
        # 38.8 is dark, which ends at 40, and its 17.9 of L* beside 20.9 is not yet 18.
        assert "L* 38" in page.content.decode()
        assert '<td class="number wide-only">17</td>' in page.content.decode()


class TestChoice:
    def test_a_visitor_reads_what_their_browser_asks_for(self, client):
        page = client.get("/", headers={"accept-language": "de-AT,de;q=0.9,en;q=0.5"})
        assert "Zusammen stricken, Clue für Clue" in spoken(page)
        assert "Accept-Language" in page.headers["Vary"]
        assert "Cookie" in page.headers["Vary"]

    @pytest.mark.parametrize(
        ("asks", "code"),
        [
            ("en-GB", "en-gb"),
            ("en-US,en", "en-us"),
            ("en", "en-001"),
            ("en-AU", "en-001"),
            ("pt", "en-001"),
        ],
    )
    def test_each_english_is_told_apart(self, client, asks, code):
        page = client.get("/", headers={"accept-language": asks})
        assert page.headers["Content-Language"] == code

    def test_a_visitor_can_choose_another(self, client):
        answer = client.post(
            reverse("kal:language"),
            {"language": "de"},
            headers={"referer": "http://testserver/sign-in/"},
        )
        assert answer.headers["Location"] == "http://testserver/sign-in/"
        assert "Melde" in spoken(client.get("/")) or "Anmelden" in spoken(client.get("/"))

    def test_a_choice_is_kept_with_the_account(self, as_gerda, gerda):
        as_gerda.post(reverse("kal:language"), {"language": "en-us"})
        gerda.user.refresh_from_db()
        assert gerda.user.language == "en-us"

    def test_each_language_is_called_by_its_own_name(self, as_gerda):
        page = as_gerda.get("/").content.decode()
        assert re.findall(r'name="language" value="([^"]+)"[^>]*>([^<]+)<', page) == [
            ("en-001", "English"),
            ("en-gb", "English, UK terms"),
            ("en-us", "English, US terms"),
            ("de", "Deutsch"),
        ]

    def test_it_leads_to_no_other_site(self, client):
        answer = client.post(
            reverse("kal:language"),
            {"language": "de"},
            headers={"referer": "https://elsewhere.example/"},
        )
        assert answer.headers["Location"] == "/"

    @pytest.mark.parametrize("code", ["", "tlh", "de\n"])
    def test_a_language_that_nobody_speaks_here_is_refused(self, client, code):
        assert client.post(reverse("kal:language"), {"language": code}).status_code == 400

    def test_the_address_answers_no_get(self, client):
        assert client.get(reverse("kal:language")).status_code == 405

    def test_it_can_be_set_on_the_page_of_settings(self, as_gerda, gerda):
        form = {"name": "Gerda", "language": "en-gb", "zone": "Europe/Berlin", "units": "metric"}
        as_gerda.post(reverse("kal:settings"), form)
        gerda.user.refresh_from_db()
        assert gerda.user.language == "en-gb"


class TestAway:
    """Mail and feeds, whose reader is not here."""

    def test_a_mail_is_in_its_recipients_language(self, gerda, knit_along):
        make_participant(knit_along, "Kit")
        make_clue(knit_along, 1, title="Der Kai", release_at=NOON, ready_at=NOON)
        sweep(clock=lambda: NOON + timedelta(minutes=1))
        subjects = {message.to[0][:3]: message.subject for message in mail.outbox}
        assert subjects == {
            "ger": "Clue 1 ist erschienen: Der Kai",
            "kit": "Clue 1 is out: Der Kai",
        }
        hers = next(message for message in mail.outbox if message.to[0].startswith("ger"))
        assert "Hallo Gerda," in hers.body
        assert ENGLISH.findall(hers.body.replace("http", " ")) == []

    def test_a_code_to_sign_in_comes_in_the_language_of_the_page(self, client):
        client.post(
            "/sign-in/", {"email": "neu@knitters.example"}, headers={"accept-language": "de"}
        )
        (sent,) = mail.outbox
        assert sent.subject == "Dein Code zum Anmelden"
        assert ENGLISH.findall(str(sent.body)) == []

    def test_feeds_are_in_the_language_of_their_participant(self, client, gerda, knit_along):
        make_clue(knit_along, 1, title="Der Kai", release_at=NOON, ready_at=NOON)
        renew_feed_key(gerda, now=NOON)
        token = FeedKey.objects.get(participant=gerda).token
        news = client.get(reverse("schedule:news_feed", args=[knit_along.slug, token]))
        assert "Die Organisation von Hafenlichter" in news.content.decode()

    def test_nobody_else_is_left_speaking_it(self, client, gerda, knit_along):
        renew_feed_key(gerda, now=NOON)
        token = FeedKey.objects.get(participant=gerda).token
        client.get(reverse("schedule:news_feed", args=[knit_along.slug, token]))
        assert translation.get_language() == "en-001"


class TestNumbers:
    def test_amounts_have_the_decimal_mark_of_the_language(self):
        from decimal import Decimal

        from kal.units import weight_text

        with translation.override("de"):
            assert weight_text(Decimal("28.35") * 2, imperial=True) == "2\N{NO-BREAK SPACE}oz"
            assert weight_text(Decimal("99.5"), imperial=False) == "99,5\N{NO-BREAK SPACE}g"
        assert weight_text(Decimal("99.5"), imperial=False) == "99.5\N{NO-BREAK SPACE}g"

    def test_a_decimal_comma_is_read(self, as_gerda, gerda):
        address = reverse("kal:prepare", args=[gerda.knit_along.slug])
        page = as_gerda.get(f"{address}?weight=33,5&length=150,5")
        assert "Knäuel" in spoken(page)
        assert "field-error" not in page.content.decode()
