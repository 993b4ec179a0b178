"""Choosing a set and looking at yarns knitted together, by keyboard and without script."""

import re

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from palettes.models import Yarn
from tests.browser.conftest import assert_accessible, assert_fits_a_phone
from tests.builders import make_palette, make_yarn

pytestmark = pytest.mark.django_db(transaction=True)
CHOSEN = ("Ink pad", "Toast", "Sea glass", "Brick", "Oat")
CANDIDATES = ("Plum jam", "Gorse in March, dyed by hand in a kettle", "Peat")


@pytest.fixture
def palette(kit):
    palette = make_palette(kit)
    for n, name in enumerate(CHOSEN):
        make_yarn(
            palette, name=name, place=Yarn.Place.CHOSEN, position=n, lab_l=48 + n, lab_a=12 * n - 20
        )
    for n, name in enumerate(CANDIDATES):
        make_yarn(palette, name=name, lab_l=15 + 35 * n, lab_b=20, dye_style="speckled")
    return palette


@pytest.fixture
def address(live_server, sign_in, kit, knit_along, palette):
    """Return a function from a page's name to its address, for Kit who has signed in."""
    sign_in(kit.user)
    return lambda name: live_server.url + reverse(f"palettes:{name}", args=[knit_along.slug])


def chosen_names(palette):
    return {yarn.name for yarn in palette.yarns.chosen()}


def test_a_set_is_found_and_chosen_by_keyboard_and_put_back(page, address, palette):
    page.goto(address("shortlist"))
    page.locator("#shortlist-aim_0").focus()
    with page.expect_response(lambda response: "aim=one-family" in response.url):
        page.keyboard.press("ArrowDown")
    page.wait_for_url("**/?*aim=one-family*")
    assert page.evaluate("document.activeElement.id") == "shortlist-aim_1"
    first = page.locator(".set").first
    expected = set(
        first.locator(".set-yarns li > span > span").evaluate_all(
            "spans => spans.map(span => span.parentNode.firstChild.textContent.trim())"
        )
    )
    use = first.get_by_role("button")
    use.focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert "aim=one-family" in page.url
    assert chosen_names(palette) == expected != set(CHOSEN)
    assert "Chosen now:" in page.locator(".messages").inner_text()
    assert_accessible(page)
    page.locator("#put-back").focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert [yarn.name for yarn in palette.yarns.chosen()] == list(CHOSEN)


def test_a_locked_yarn_is_in_every_set(page, address):
    page.goto(address("shortlist"))
    page.locator("summary").click()
    with page.expect_response(lambda response: "lock=" in response.url):
        page.get_by_label("Peat", exact=True).check()
    expect(page.locator(".set-yarns").filter(has_not_text="Peat")).to_have_count(0)
    assert page.locator(".set-yarns").count() == 10


def test_a_picture_changes_with_the_yarn_and_the_sight(page, address):
    page.goto(address("pictures"))
    alt = "img => img.alt"
    assert "Ink pad" in page.locator(".panels").first.evaluate(alt)
    page.get_by_label("First yarn").select_option(label="Peat")
    page.locator(".panels[alt*='Peat']").first.wait_for()
    page.get_by_label("In grey").check()
    first = page.locator(".panels[alt*='In grey']").first
    first.scroll_into_view_if_needed()
    page.wait_for_load_state("networkidle")
    assert first.evaluate("img => img.decode().then(() => img.naturalWidth)") == 888


@pytest.mark.parametrize("name", ["shortlist", "pictures"])
def test_pages_are_accessible_and_fit_a_phone(page, address, name):
    page.goto(address(name))
    for details in page.locator("details").all():
        details.locator("summary").click()
    assert_accessible(page)
    assert_fits_a_phone(page)
    assert_accessible(page)


def test_everything_works_without_script(browser, context, address, palette):
    page = browser.new_context(
        java_script_enabled=False, storage_state=context.storage_state()
    ).new_page()
    page.goto(address("shortlist"))
    page.get_by_label("Bold, vivid colours").check()
    page.get_by_role("button", name="Find sets").click()
    expect(page).to_have_url(re.compile("aim=bold"))
    page.get_by_role("button", name="Use this set 1", exact=True).click()
    assert "Chosen now:" in page.locator(".messages").inner_text()
    assert chosen_names(palette) != set(CHOSEN)
    page.goto(address("pictures"))
    page.get_by_label("Tritan: without blue-sensing cones").check()
    page.get_by_role("button", name="Show them").click()
    assert "Tritan" in str(page.locator(".panels").first.get_attribute("alt"))
    page.context.close()
