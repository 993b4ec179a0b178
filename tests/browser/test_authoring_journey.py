"""A clue is written with two ways, read ahead, mended, signed off, and read the other way."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from playwright.sync_api import Page, expect

from kal.models import Role
from schedule.models import UnsavedWords
from tests.browser.conftest import DESK, assert_accessible, assert_fits_a_phone
from tests.builders import NOON, make_clue, make_knit_along, make_participant

DAY = timedelta(days=1)


@pytest.fixture
def world(transactional_db):
    with time_machine.travel(NOON - 3 * DAY, tick=True) as clock:
        knit_along = make_knit_along(slug="lanterns", zone="UTC")
        clue = make_clue(knit_along, title="", body="Wind the yarn.", ready_at=None)
        people = {
            "hana": make_participant(knit_along, "Hana", Role.ORGANISER),
            "edda": make_participant(knit_along, "Edda", Role.CO_ORGANISER),
            "kit": make_participant(knit_along, "Kit"),
        }
        yield clock, clue, people


@pytest.fixture
def page_of(live_server, browser, world):
    """Return a function that opens a window in which one of the people is signed in."""
    contexts = []

    def opened(name: str, **options) -> Page:
        client = Client()
        client.force_login(world[2][name].user)
        context = browser.new_context(base_url=live_server.url, viewport=DESK, **options)
        cookie = client.cookies["sessionid"]
        context.add_cookies([{"name": "sessionid", "value": cookie.value, "url": live_server.url}])
        contexts.append(context)
        page: Page = context.new_page()
        return page

    yield opened
    for context in contexts:
        context.close()


def checked(page: Page) -> None:
    assert_accessible(page)
    assert_fits_a_phone(page)
    page.set_viewport_size(DESK)


def write_with_two_ways(page: Page) -> None:
    page.goto("/k/lanterns/desk/clues/1/")
    page.get_by_label("Title", exact=False).first.fill("The first lantern")
    page.get_by_role("button", name="Add a section").click()
    page.get_by_label("Title of the section").fill("The edge")
    page.get_by_label("The clue promises an easier way here").check()
    first = page.locator("fieldset.way-form").first
    first.get_by_label("Name of this way").fill("The plain way")
    first.get_by_label("Text of this way").fill("Row 1: k5.\nBind off.")
    page.get_by_role("button", name="Save").last.click()
    expect(page.get_by_text("The edge promises an easier way and has only one")).to_be_visible()
    checked(page)


def add_the_other_way(page: Page) -> None:
    page.goto("/k/lanterns/desk/clues/1/")
    page.get_by_role("button", name="Add another way").click()
    second = page.locator("fieldset.way-form").nth(1)
    second.get_by_label("Name of this way").fill("The grafted way")
    second.get_by_label("Technique").fill("grafting")
    second.get_by_label("Text of this way").fill("Graft the edge.")
    page.get_by_text("Preview as you type").click()
    expect(page.locator("#tried")).to_contain_text("Graft the edge.")
    page.get_by_role("button", name="Save").last.click()
    expect(page.get_by_text("Saved.", exact=True)).to_be_visible()


def mark_ready(page: Page) -> None:
    page.goto("/k/lanterns/desk/clues/")
    page.get_by_role("button", name=re.compile("^Mark ready.*clue 1$")).click()


def test_a_clue_with_two_ways_from_the_desk_to_a_participant(world, page_of):
    clock, _clue, _people = world
    hana, edda, kit = page_of("hana"), page_of("edda"), page_of("kit")
    write_with_two_ways(hana)
    mark_ready(hana)
    expect(hana.get_by_role("alert")).to_contain_text("Clue 1 is not fit to go out.")
    add_the_other_way(hana)

    edda.goto("/k/lanterns/clues/1/read-ahead/?at=1-1-1#line-1-1-1")
    checked(edda)
    edda.get_by_label("Your comment").fill("Is it k5 or k6?")
    edda.get_by_role("button", name="Comment", exact=True).click()
    expect(edda.locator("#line-1-1-1")).to_contain_text("Is it k5 or k6?")

    hana.goto("/k/lanterns/clues/1/read-ahead/")
    hana.locator("summary", has_text="Answer").click()
    hana.get_by_label("Your answer").fill("k5, I have counted.")
    hana.get_by_role("button", name="Resolve").click()
    expect(hana.get_by_text("k5, I have counted.").first).to_be_visible()
    checked(hana)
    edda.goto("/k/lanterns/clues/1/read-ahead/")
    edda.get_by_role("button", name=re.compile("sign it off$")).click()
    expect(edda.get_by_text("Edda: signed off")).to_be_visible()

    mark_ready(hana)
    expect(hana.get_by_role("button", name=re.compile("^Mark not ready.*clue 1$"))).to_be_visible()
    answer = kit.goto("/k/lanterns/clues/1/")
    assert answer
    assert answer.status == 404

    clock.move_to(NOON)
    kit.goto("/k/lanterns/clues/1/")
    expect(kit.get_by_text("Bind off.")).to_be_visible()
    expect(kit.get_by_text("Graft the edge.")).to_be_hidden()
    checked(kit)
    kit.locator("summary", has_text="The grafted way").click()
    kit.get_by_role("button", name="Show me this way from now on").click()
    expect(kit.get_by_text("Graft the edge.")).to_be_visible()
    expect(kit.get_by_text("Bind off.")).to_be_hidden()


def test_what_is_typed_is_kept_by_itself_and_comes_back(world, page_of):
    hana = page_of("hana")
    hana.goto("/k/lanterns/desk/clues/1/")
    hana.get_by_label("Opening text").press_sequentially(" Twice.")
    expect(hana.locator(".kept")).to_contain_text("for you alone", timeout=10_000)
    assert UnsavedWords.objects.get().fields["body"] == [" Twice.Wind the yarn."]
    hana.goto("/k/lanterns/desk/clues/1/")
    expect(hana.locator("#unsaved")).to_contain_text("Below are your unsaved words")
    expect(hana.get_by_label("Opening text")).to_have_value(" Twice.Wind the yarn.")
    checked(hana)
    hana.route("**/keep/", lambda route: route.abort())
    hana.get_by_label("Opening text").press_sequentially("Or ")
    expect(hana.locator(".kept")).to_contain_text("Not kept: the site did not answer")
    hana.get_by_role("button", name="Drop them and show what is saved").click()
    expect(hana.get_by_label("Opening text")).to_have_value("Wind the yarn.")


def test_a_link_in_the_preview_leaves_what_is_typed_where_it_is(world, page_of):
    hana = page_of("hana")
    hana.goto("/k/lanterns/desk/clues/1/")
    hana.get_by_label("Opening text").fill("See [the list](/k/lanterns/clues/).")
    hana.get_by_text("Preview as you type").click()
    preview = hana.get_by_role("group", name="Preview", exact=True)
    for name in ("the list", "All clues"):
        link = preview.get_by_role("link", name=name)
        link.focus()
        with hana.context.expect_page() as opened:
            hana.keyboard.press("Enter")
        expect(opened.value).to_have_url(re.compile("/k/lanterns/clues/$"))
        opened.value.close()
    expect(hana.get_by_label("Opening text")).to_have_value("See [the list](/k/lanterns/clues/).")
    expect(hana.get_by_text("Links in it open in a new tab")).to_be_visible()
    checked(hana)


def test_it_is_written_and_chosen_without_script(world, page_of):
    clock, _clue, _people = world
    hana, kit = (
        page_of("hana", java_script_enabled=False),
        page_of("kit", java_script_enabled=False),
    )
    write_without_axe(hana)
    add_way_without_script(hana)
    mark_ready(hana)
    clock.move_to(NOON)
    kit.goto("/k/lanterns/clues/1/")
    kit.locator("summary", has_text="The grafted way").click()
    kit.get_by_role("button", name="Show me this way from now on").click()
    expect(kit.get_by_text("Graft the edge.")).to_be_visible()


def write_without_axe(page: Page) -> None:
    page.goto("/k/lanterns/desk/clues/1/")
    page.get_by_role("button", name="Add a section").click()
    page.get_by_label("Text of this way").fill("Bind off.")
    page.get_by_label("Name of this way").fill("The plain way")


def add_way_without_script(page: Page) -> None:
    page.get_by_role("button", name="Add another way").click()
    second = page.locator("fieldset.way-form").nth(1)
    second.get_by_label("Name of this way").fill("The grafted way")
    second.get_by_label("Text of this way").fill("Graft the edge.")
    page.get_by_role("button", name="Save").last.click()
    expect(page.get_by_text("Saved.", exact=True)).to_be_visible()


@pytest.mark.parametrize("has_script", [True, False])
def test_two_who_write_at_once_choose_text_by_text(world, page_of, has_script):
    _clock, clue, people = world
    people["ines"] = make_participant(clue.knit_along, "Ines", Role.ORGANISER)
    hers, his = (page_of(name, java_script_enabled=has_script) for name in ("hana", "ines"))
    for page in (hers, his):
        page.goto("/k/lanterns/desk/clues/1/")
    his.get_by_label("Opening text").fill("Wind the yarn into cakes.")
    his.get_by_label("Techniques", exact=False).first.fill("winding")
    his.get_by_role("button", name="Save").last.click()
    hers.get_by_label("Opening text").fill("Wind the yarn into balls.")
    hers.get_by_label("Title", exact=False).first.fill("The first lantern")
    hers.get_by_role("button", name="Save").last.click()
    expect(hers.get_by_text("Ines saved revision 2 of this clue after you began")).to_be_visible()
    expect(hers.get_by_text("1 text that only they changed")).to_be_visible()
    if has_script:
        checked(hers)
    hers.get_by_role("button", name="Save").last.press("Enter")
    expect(hers.get_by_text("choose theirs or yours for each text below")).to_be_visible()
    if has_script:
        checked(hers)
    hers.get_by_label("Keep mine, as it stands in the form").press("Space")
    hers.get_by_role("button", name="Save").last.press("Enter")
    expect(hers.get_by_text("Saved.", exact=True)).to_be_visible()
    newest = clue.revision
    assert newest.number == 3
    assert (newest.title, newest.body) == ("The first lantern", "Wind the yarn into balls.")
    assert newest.techniques == "winding"
