"""Every page in a language that puts brackets round all it says: what stands outside is unmarked.

The language is made by bracketing whatever gettext answers, Django's own words included. What
people wrote stands outside the brackets by right; it is known from the rows.
"""

import re
from collections.abc import Iterator
from datetime import timedelta
from html.parser import HTMLParser
from zoneinfo import available_timezones

import pytest
from django.apps import apps
from django.conf import settings
from django.db import models
from django.utils.translation import gettext
from django.utils.translation.trans_real import DjangoTranslation

from kal.models import AuditEntry, Participant, User
from schedule.models import PlanOpening
from tests.builders import NOON, make_registration
from tests.conftest import signed_in
from tests.embargo import conftest as embargo
from tests.embargo.routes import all_routes
from tests.tools.test_unmarked_words import SAME_EVERYWHERE

world, clock, few_words = embargo.world, embargo.clock, embargo.few_words

OPENS, CLOSES = "⟦⟧"
SPOKEN = {"aria-label", "title", "alt", "placeholder", "hx-confirm"}
SILENT = {"script", "style", "code", "pre"}
ZONES = available_timezones()
WRITTEN = (models.CharField, models.TextField, models.JSONField)
WORD = re.compile(r"[^\W\d_]{2,}")
# Zones of the tz database, addresses, colours and names of fields, which no language changes.
NAMES = re.compile(
    r"\b[A-Z]\w+(?:/[\w+-]+)+|https?://\S*|\S+@\S+|#[0-9a-f]{6}\b|(?:/[\w-]+)+/|HARB-OUR|canary\w+"
)


@pytest.fixture
def brackets(monkeypatch):
    one, many = DjangoTranslation.gettext, DjangoTranslation.ngettext

    def gettext(self, message):
        return f"{OPENS}{one(self, message).rpartition(chr(4))[2]}{CLOSES}" if message else ""

    def ngettext(self, singular, plural, n):
        return f"{OPENS}{many(self, singular, plural, n).rpartition(chr(4))[2]}{CLOSES}"

    monkeypatch.setattr(DjangoTranslation, "gettext", gettext)
    monkeypatch.setattr(DjangoTranslation, "ngettext", ngettext)


class Heard(HTMLParser):
    """The text of a page, and each attribute that is spoken, as texts of their own."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.text = ""
        self.spoken: list[str] = []
        self.silent = 0
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        # A place in the list of zones is named as the tz database names it.
        is_zone = tag == "option" and (dict(attrs).get("value") or "") in ZONES
        self.silent += tag in SILENT or is_zone
        self.text += " "
        # Inside brackets an attribute is part of a sentence that is marked as a whole.
        if self.text.count(OPENS) == self.text.count(CLOSES):
            self.spoken += [value or "" for name, value in attrs if name in SPOKEN]

    def handle_endtag(self, tag: str) -> None:
        self.silent -= tag in SILENT or (tag == "option" and self.silent > 0)
        self.text += " "

    def handle_data(self, data: str) -> None:
        self.text += "" if self.silent else data


def outside(text: str) -> str:
    """Return what of a text stands outside all brackets."""
    depth = 0
    kept: list[str] = []
    for sign in text:
        depth += (sign == OPENS) - (sign == CLOSES)
        kept.append(sign if depth == 0 and sign != CLOSES else " " if kept[-1:] != [" "] else "")
    return "".join(kept)


def written_by_people() -> re.Pattern[str]:
    """Return what finds any text of any row, the longest first; not what a program chose."""
    found = {name for _code, name in settings.LANGUAGES}
    for model in apps.get_models():
        fields = [
            field.attname
            for field in model._meta.concrete_fields
            if isinstance(field, WRITTEN) and not field.choices
            if (model, field.attname) != (AuditEntry, "act")
        ]
        for row in model._base_manager.values_list(*fields):
            found |= {text for value in row for text in texts_of(value) if WORD.search(text)}
    found |= {line for text in found for line in text.splitlines()}
    longest_first = sorted(found, key=len, reverse=True)
    return re.compile("|".join(rf"(?<!\w){re.escape(text)}(?!\w)" for text in longest_first))


def texts_of(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for part in value.values():
            yield from texts_of(part)
    elif isinstance(value, list):
        for part in value:
            yield from texts_of(part)


def unmarked(page: str, own: re.Pattern[str]) -> list[str]:
    heard = Heard(page)
    left = []
    for text in (heard.text, *heard.spoken):
        bare = SAME_EVERYWHERE.sub(" ", NAMES.sub(" ", own.sub(" ", outside(text))))
        pieces = (" ".join(piece.split()) for piece in re.split(r"\s{2,}", bare))
        left += [piece for piece in pieces if WORD.search(piece)]
    return left


ORGANISER = "organiser"
READERS = ("visitor", "participant", "moderator", "kit maker", ORGANISER)
# A few of each, where one answers like another.
FEWER = {"revision": 1, "copy": 1, "kind": 2}


@pytest.mark.parametrize("reader", READERS)
def test_no_page_says_a_word_that_no_translator_could_reach(world, clock, brackets, reader):
    clock.move_to(NOON + timedelta(hours=1))
    knit_along = world.knit_along
    PlanOpening.objects.create(knit_along=knit_along, opens_at=NOON)
    for name in ("Kit", "Hana", "Co"):
        make_registration(Participant.objects.get(user__name=name), spares=0)
    hana = User.objects.get(name="Hana")
    client = signed_in(hana) if reader == ORGANISER else world.readers[reader]
    fillers = {name: values[-FEWER.get(name, 0) :] for name, values in world.fillers.items()}
    fillers["number"] = [1, 2]
    own, found, seen = written_by_people(), {}, set[str]()
    for route in all_routes():
        for address in route.addresses(fillers):
            answer = client.get(address)
            if "text/html" not in answer.headers.get("Content-Type", ""):
                continue
            seen |= {route.name} if answer.status_code == 200 else set()
            if left := unmarked(answer.content.decode(), own):
                found[route.name] = left
    assert found == {}
    assert len(seen) > (50 if reader == ORGANISER else 3), "else the pages are not seen at all"


def test_a_word_without_its_marker_is_heard(brackets):
    page = (
        f"<p>{gettext('Clues')} of Harbour <b>{gettext('Saved')}</b></p>"
        '<img alt="One shawl"><style>none {}</style>'
        f'<p>{OPENS}<abbr title="the sky">L*</abbr> 45{CLOSES}, 50 g</p>'
    )
    assert unmarked(page, re.compile("Harbour")) == ["of", "One shawl"]
