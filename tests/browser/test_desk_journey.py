"""The organiser reads the desk, opens a table behind a drawing, and goes where a sentence leads."""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from tests.browser.conftest import DESK, assert_accessible, assert_fits_a_phone
from tests.builders import make_clue, make_participant, make_registration


@pytest.fixture
def harbour(knit_along, hana, kit):
    """Clue 1 is out, clue 2 goes out in two days and is not ready; one palette is all one grey."""
    now = timezone.now()
    make_clue(knit_along, 1, release_at=now - timedelta(days=5))
    make_clue(knit_along, 2, release_at=now + timedelta(days=2, minutes=5), ready_at=None)
    make_registration(kit, (50, 51, 52, 53, 54))
    make_registration(make_participant(knit_along, "Fern"), (15, 45, 60, 75, 95))
    return knit_along


def look_at(page: Page) -> None:
    page.eval_on_selector_all("details", "all => all.forEach((one) => one.open = true)")
    assert_accessible(page)
    assert_fits_a_phone(page)
    assert_accessible(page)
    page.set_viewport_size(DESK)


def test_reading_the_desk(live_server, page, sign_in, harbour, hana):
    base = f"{live_server.url}{harbour.get_absolute_url()}desk/"
    sign_in(hana.user)
    page.goto(base)
    expect(page.locator(".todos li").first).to_contain_text(
        "Clue 2 goes out in 2 days and is not marked ready."
    )
    verdicts = page.locator("#figure-verdicts")
    verdicts.scroll_into_view_if_needed()
    expect(verdicts).to_contain_text("Of 2 registered palettes 1 has a pair that is lost.")
    for figure in page.locator(".figure").all():
        figure.scroll_into_view_if_needed()
        expect(figure.get_by_role("link", name="See the figure")).to_have_count(0)
    look_at(page)
    expect(verdicts.get_by_role("row", name="needs mending")).to_contain_text("1")
    with page.expect_download() as saved:
        verdicts.get_by_role("link", name="Save the table for a spreadsheet").click()
    assert saved.value.suggested_filename == f"{harbour.slug}-verdicts.csv"
    page.get_by_role("link", name="Finish clue 2").focus()
    page.keyboard.press("Enter")
    expect(page).to_have_url(f"{base}clues/2/")
    group = page.get_by_role("navigation", name="Desk").get_by_role("link", name="Pattern")
    expect(group).to_have_attribute("aria-current", "true")


def test_the_desk_without_script(live_server, new_context, sign_in_to, harbour, hana):
    context = new_context(java_script_enabled=False)
    sign_in_to(context, hana.user)
    page = context.new_page()
    page.goto(f"{live_server.url}{harbour.get_absolute_url()}desk/")
    page.locator("#figure-contrast").get_by_role("link", name="See the figure").click()
    expect(page.get_by_role("heading", name="Figures")).to_be_visible()
    expect(page.locator("#figure-contrast svg")).to_be_visible()
    page.get_by_role("navigation", name="Figures").get_by_role("link", name="Joined by day").click()
    expect(page.locator("#figure-joined")).to_contain_text("2 people have joined")
