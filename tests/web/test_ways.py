"""Which way of a section a participant sees first."""

import pytest
import time_machine

from schedule.models import ClueSection, Revision, Way
from tests.builders import NOON, make_clue
from tests.pages import words


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOON, tick=False) as traveller:
        yield traveller


@pytest.fixture
def clue(knit_along):
    clue = make_clue(knit_along)
    add_ways(clue.revision)
    return clue


def add_ways(revision):
    section = ClueSection.objects.create(
        revision=revision, position=1, title="The edge", key="edge", promises_choice=True
    )
    for position, (key, body) in enumerate({"plain": "Bind off.", "graft": "Graft."}.items(), 1):
        Way.objects.create(section=section, position=position, key=key, name=key, body=body)


@pytest.fixture
def address(knit_along):
    return f"/k/{knit_along.slug}/clues/1/"


def first_and_other(response):
    shown = words(response)
    return (
        ["plain", "graft"]
        if shown.index("Bind off.") < shown.index("Graft.")
        else [
            "graft",
            "plain",
        ]
    )


def test_the_plain_way_is_first_until_another_is_chosen_and_errata_keep_it(
    clue, as_kit, kit, address
):
    assert first_and_other(as_kit.get(address)) == ["plain", "graft"]
    answer = as_kit.post(f"{address}way/", {"section": "edge", "way": "graft"})
    assert answer.headers["Location"] == f"{address}#section-edge"
    assert first_and_other(as_kit.get(address)) == ["graft", "plain"]
    mended = Revision.objects.create(clue=clue, number=2, body="", note="Mended", saved_at=NOON)
    add_ways(mended)
    assert first_and_other(as_kit.get(address)) == ["graft", "plain"]
    as_kit.post(f"{address}way/", {"section": "edge", "way": "plain"})
    kit.refresh_from_db()
    assert kit.chosen_ways == {"edge": "plain"}


def test_a_general_wish_yields_to_a_choice(clue, as_kit, address):
    as_kit.post(f"{address}way/", {"first": "harder"})
    assert first_and_other(as_kit.get(address)) == ["graft", "plain"]
    as_kit.post(f"{address}way/", {"section": "edge", "way": "plain"})
    assert first_and_other(as_kit.get(address)) == ["plain", "graft"]
    as_kit.post(f"{address}way/", {"first": "plain"})
    assert "you see the plain way first" in words(as_kit.get(address))


@pytest.mark.parametrize(
    "sent", [{"section": "edge", "way": "x"}, {"section": "x", "way": "plain"}, {}]
)
def test_a_way_that_is_not_there_is_not_found(clue, as_kit, kit, address, sent):
    assert as_kit.post(f"{address}way/", sent).status_code == 404
    kit.refresh_from_db()
    assert kit.chosen_ways == {}


def test_nothing_can_be_chosen_in_a_clue_that_is_hidden(clue, as_kit, as_sam, address, clock):
    sent = {"section": "edge", "way": "graft"}
    assert as_sam.post(f"{address}way/", sent).status_code == 404
    clock.move_to(NOON.replace(hour=11))
    assert as_kit.post(f"{address}way/", sent).status_code == 404
    assert as_kit.get(f"{address}way/").status_code == 405


def test_a_choice_costs_the_page_no_question(clue, as_kit, address, django_assert_num_queries):
    as_kit.get(address)
    with django_assert_num_queries(4):
        as_kit.get(address)


def test_the_last_way_is_named_where_it_is_asked_for(clue, as_kit, address):
    assert "Show me the last way first: graft</button>" in words(as_kit.get(address))
    Way.objects.filter(key="graft").update(name="")
    # A process remembers what a revision holds, so that of another one is asked for.
    mended = Revision.objects.create(clue=clue, number=2, body="", note="Mended", saved_at=NOON)
    add_ways(mended)
    mended.sections.get().ways.filter(key="graft").update(name="")
    assert "Show me the last way first</button>" in words(as_kit.get(address))


def test_a_preview_has_no_button_that_leads_out_of_it(clue, as_hana, knit_along):
    preview = words(as_hana.get(f"/k/{knit_along.slug}/desk/clues/1/preview/"))
    assert "Graft." in preview
    button = '<button type="button" class="link-button" disabled>Show me this way from now on'
    assert button in preview
    assert "/clues/1/way/" not in preview
