"""A knitter looks round the gallery: asks, takes back, finds palettes near, sees all at once."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import DESK, assert_accessible, assert_fits_a_phone
from tests.web.test_gallery import BLUE, GREYS, RED, register, with_colour


@pytest.fixture
def gallery(knit_along, kit, sign_in, live_server):
    """A small crowd, Kit among it; returns the address of its gallery."""
    register(knit_along, "Ann", with_colour(RED))
    register(knit_along, "Bea", with_colour(BLUE))
    register(knit_along, "Cleo", (RED, RED, RED, RED, BLUE))
    register(knit_along, "Dot", GREYS)
    sign_in(kit.user)
    return f"{live_server.url}/k/{knit_along.slug}/gallery/"


def look_at(page: Page) -> None:
    assert_accessible(page)
    assert_fits_a_phone(page)
    page.set_viewport_size(DESK)


def owners(page: Page) -> list[str]:
    return page.locator(".gallery-list .gallery-owner").all_inner_texts()


def test_ask_by_keyboard_take_back_and_pass_on(page: Page, gallery):
    page.goto(gallery)
    assert owners(page) == ["Dot", "Cleo", "Bea", "Ann"]
    look_at(page)
    page.get_by_label("red", exact=True).focus()
    page.keyboard.press("Space")
    page.get_by_label("blue", exact=True).focus()
    page.keyboard.press("Space")
    page.get_by_label("Which of the ticked colours").select_option("all of them")
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Show").press("Enter")
    expect(page.locator(".gallery-found")).to_have_text("1 palette")
    assert owners(page) == ["Cleo"]
    assert page.url == f"{gallery}?family=red&family=blue&match=all#found"
    look_at(page)
    page.get_by_role("link", name="some red (leave this out)").press("Enter")
    expect(page.locator(".gallery-found")).to_have_text("2 palettes")
    assert owners(page) == ["Cleo", "Bea"]


def test_nobody_is_like_that(page: Page, gallery):
    page.goto(f"{gallery}?family=teal&worst=strong")
    expect(page.locator(".gallery-none")).to_contain_text("all of that together yet")
    assert page.locator("details").get_attribute("open") is not None
    look_at(page)
    page.get_by_role("link", name="See them all").click()
    assert len(owners(page)) == 4


def test_near_one_and_everybody(page: Page, gallery):
    page.goto(gallery)
    page.get_by_role("link", name="Ann").click()
    page.get_by_role("link", name="Palettes near this one").click()
    # The palette itself is not in its own list.
    expect(page.locator(".gallery-list .gallery-owner")).to_have_count(3)
    assert owners(page)[0] in {"Dot", "Bea"}
    assert owners(page)[-1] == "Cleo"
    look_at(page)
    page.goto(gallery)
    page.get_by_role("link", name="Everybody's colours in one picture").click()
    picture = page.locator("img.cohort")
    assert picture.evaluate("each => each.decode().then(() => each.naturalWidth)") == 1056
    look_at(page)
    page.get_by_role("link", name="red", exact=True).click()
    expect(page.locator(".gallery-list .gallery-owner")).to_have_text(["Cleo", "Ann"])


def test_without_script(browser, live_server, sign_in_to, gallery, kit):
    context = browser.new_context(java_script_enabled=False)
    sign_in_to(context, kit.user)
    page = context.new_page()
    page.goto(gallery)
    page.get_by_label("Words in a yarn's name or fibre").fill("nothing")
    page.get_by_role("button", name="Show").click()
    expect(page.get_by_text("Nobody shows a palette like that yet.")).to_be_visible()
    page.goto(f"{gallery}near/")
    expect(page.get_by_text("Choose your 5 yarns")).to_be_visible()
    context.close()
