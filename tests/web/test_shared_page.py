"""The page of a clue is put together once for many, and is byte for byte each reader's own."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse

from kal.models import KnitAlong, Participant, Role, User
from schedule import shared_page
from schedule.models import Clue, LetterUse, Revision
from schedule.shared_page import Known, _put_together
from tests.builders import NOON, make_clue, make_participant
from tests.conftest import signed_in

TOKEN = re.compile(r'(csrfmiddlewaretoken" value="|"x-csrftoken": ")[A-Za-z0-9]{64}')
TOKEN_VALUE = re.compile(r'"x-csrftoken": "([A-Za-z0-9]{64})')
READERS: dict[str, dict[str, str]] = {
    "Kit": {},
    "Zoë & <b>Mo</b>": {},
    "": {},
    "Far": {"zone": "Asia/Tokyo"},
    "Ounces": {"units": "imperial"},
}


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOON + timedelta(days=8), tick=False) as traveller:
        yield traveller


@pytest.fixture(autouse=True)
def nothing_remembered():
    _put_together.cache_clear()


@pytest.fixture
def clues(knit_along):
    for number in (1, 2, 3):
        make_clue(knit_along, number, "# Wall\n\nRow 1: *k2tog*, yo.")
    LetterUse.objects.create(revision=Revision.objects.get(clue__number=2), letter="A", grams=25)


@pytest.fixture
def crowd(knit_along):
    people = [make_participant(knit_along, role=role) for role in (*Role, *[Role.PARTICIPANT] * 4)]
    for person, (name, wishes) in zip(people, list(READERS.items()) * 2, strict=False):
        User.objects.filter(pk=person.user_id).update(name=name, **wishes)
    Participant.objects.filter(pk=people[-1].pk).update(harder_way_first=True)
    return [signed_in(person.user) for person in people]


@pytest.fixture
def shared_alone(monkeypatch):
    """Let no page be rendered for one reader: whatever is shown has to be the shared one."""

    def refuse(*args: object) -> None:
        pytest.fail("The page was rendered for one reader alone.")

    monkeypatch.setattr("schedule.views.reading.render", refuse)


def page(client: Client, address: str) -> str:
    response = client.get(address)
    assert response.status_code == 200
    assert response.headers["Cache-Control"] == "private, no-cache"
    return TOKEN.sub(r"\1masked", response.content.decode())


def test_it_is_the_same_as_rendered_for_each_alone(knit_along, clues, crowd, monkeypatch):
    addresses = [f"/k/{knit_along.slug}/clues/{number}/" for number in (1, 2)]
    shared = [page(client, address) for client in crowd for address in addresses]
    assert _put_together.cache_info().currsize > 0
    with monkeypatch.context() as patch:
        patch.setattr("schedule.views.reading.shared_page", lambda request, clue: None)
        alone = [page(client, address) for client in crowd for address in addresses]
    assert shared == alone


def test_everybody_gets_the_shared_page(knit_along, clues, crowd, shared_alone):
    """A failure means that a template asks for what the page's key does not have: see `View`."""
    for client in crowd:
        page(client, f"/k/{knit_along.slug}/clues/2/")


def test_it_says_at_once_that_the_knit_along_is_archived(knit_along, clues, as_kit, shared_alone):
    address = f"/k/{knit_along.slug}/clues/2/"
    assert 'class="archive-note"' not in page(as_kit, address)
    KnitAlong.objects.update(archived_at=NOON)
    assert 'class="archive-note"' in page(as_kit, address)


def test_it_is_put_together_once_for_those_who_see_the_same(knit_along, clues, crowd, shared_alone):
    address = f"/k/{knit_along.slug}/clues/2/"
    kits = [make_participant(knit_along, f"Kit{number}") for number in range(5)]
    tokens = set()
    for kit in kits:
        content = signed_in(kit.user).get(address).content.decode()
        assert kit.user.name in content
        tokens |= set(TOKEN_VALUE.findall(content)[:1])
    assert _put_together.cache_info().misses == 1
    assert _put_together.cache_info().hits == 4
    assert len(tokens) == 5


def test_the_token_in_it_is_good(knit_along, clues, kit):
    client = Client(enforce_csrf_checks=True)
    client.force_login(kit.user)
    content = client.get(f"/k/{knit_along.slug}/clues/2/").content.decode()
    found = re.search(r'csrfmiddlewaretoken" value="(\w+)"', content)
    assert found
    assert client.post(reverse("account_logout")).status_code == 403
    out = client.post(reverse("account_logout"), {"csrfmiddlewaretoken": found[1]})
    assert out.status_code == 302


def test_a_message_is_shown_to_the_one_it_is_for(knit_along, clues, as_kit, kit):
    address = f"/k/{knit_along.slug}/clues/2/"
    as_kit.get(address)
    as_kit.post(f"/k/{knit_along.slug}/membership/", {"shows_palette": "on"})
    assert 'class="messages"' in page(as_kit, address)
    assert 'class="messages"' not in page(as_kit, address)


def test_a_held_clue_is_gone_at_once_though_its_page_is_remembered(knit_along, clues, as_kit):
    address = f"/k/{knit_along.slug}/clues/2/"
    assert as_kit.get(address).status_code == 200
    Clue.objects.filter(number=2).update(is_held=True)
    assert as_kit.get(address).status_code == 404


def test_a_new_revision_or_title_is_shown_at_once(knit_along, clues, as_kit):
    address = f"/k/{knit_along.slug}/clues/2/"
    page(as_kit, address)
    clue = Clue.objects.get(number=2)
    Revision.objects.create(clue=clue, number=2, body="Purl row 3.", saved_at=NOON)
    Clue.objects.filter(pk=clue.pk).update(title="Renamed")
    shown = page(as_kit, address)
    assert "Purl row 3." in shown
    assert "Renamed" in shown


def test_what_a_template_asks_beyond_the_key_is_noted():
    known = Known(title="Lamps")
    assert known.title == "Lamps"
    with pytest.raises(AttributeError):
        _ = known.email
    assert known.missed == ["email"]


def test_a_page_that_asks_for_more_is_rendered_for_each_alone(
    knit_along, clues, as_kit, monkeypatch, caplog
):
    def asking(template, context):
        assert not hasattr(context["user"], "email")
        return render_to_string(template, context)

    monkeypatch.setattr(shared_page, "render_to_string", asking)
    assert "Row 1" in page(as_kit, f"/k/{knit_along.slug}/clues/2/")
    assert _put_together.cache_info().hits == 0
    assert "not shared: they ask for user.email as well" in caplog.text
