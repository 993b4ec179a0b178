"""The organiser shifts the rest by a week, and the participant learns of it, in a real browser."""

import re
from datetime import timedelta

import pytest
from django.core import mail
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect

from kal.models import Role
from schedule.models import Clue, ScheduleChange
from schedule.notices.sweep import sweep
from tests.browser.conftest import DESK, assert_accessible, assert_fits_a_phone
from tests.builders import make_clue, make_knit_along, make_participant

WEEK = timedelta(weeks=1)
REASON = "The post has lost a parcel of yarn."


@pytest.fixture
def harbour(db):
    """Three clues, of which the first is out, and two people in one zone."""
    knit_along = make_knit_along(cast_on_at=timezone.now() - timedelta(days=3))
    for number in (1, 2, 3):
        make_clue(knit_along, number)
    return knit_along


@pytest.fixture
def hana(harbour):
    return make_participant(harbour, "Hana", Role.ORGANISER)


@pytest.fixture
def kit(harbour):
    return make_participant(harbour, "Kit")


def look_at(page: Page) -> None:
    assert_accessible(page)
    assert_fits_a_phone(page)
    page.set_viewport_size(DESK)


def shift_the_rest(page: Page, address: str) -> None:
    """Ask for a week more from clue 2 on, read the preview, say why, and make it."""
    page.goto(f"{address}desk/clues/")
    look_at(page)
    page.get_by_role("link", name=re.compile("^Move it or the rest.*clue 2$")).click()
    look_at(page)
    page.get_by_label("Clue 2 and every clue after it").check()
    page.get_by_label("Days", exact=True).fill("7")
    page.get_by_role("button", name="See what would change").click()
    expect(page.get_by_role("heading", name="This is what would change")).to_be_visible()
    expect(page.get_by_text("7 days later").first).to_be_visible()
    expect(page.get_by_label("Mail everybody who wants mail about this")).to_be_checked()
    look_at(page)
    assert not ScheduleChange.objects.exists()
    page.get_by_label("Why").fill(REASON)
    page.get_by_role("button", name="Make this change").click()
    expect(page.get_by_text("2 mails are on their way, mail to hosts counted in.")).to_be_visible()


@pytest.mark.parametrize("has_script", [True, False])
def test_the_organiser_shifts_the_rest_by_a_week_and_a_participant_learns_of_it(
    live_server, browser: Browser, harbour, hana, kit, sign_in_to, has_script
):
    before = list(harbour.clues.values_list("release_at", flat=True))
    address = f"/k/{harbour.slug}/"
    with browser.new_context(base_url=live_server.url, java_script_enabled=has_script) as context:
        sign_in_to(context, hana.user)
        page = context.new_page()
        if has_script:
            shift_the_rest(page, address)
        else:
            shift_the_rest_without_script(page, address)
    after = list(harbour.clues.values_list("release_at", flat=True))
    assert after == [before[0], before[1] + WEEK, before[2] + WEEK]
    sweep(clock=timezone.now)
    to_kit = {message.subject: message for message in mail.outbox if kit.user.email in message.to}
    told = to_kit["Clue 2 and others move"]
    assert REASON in str(told.body)
    with browser.new_context(base_url=live_server.url, java_script_enabled=has_script) as context:
        sign_in_to(context, kit.user)
        page = context.new_page()
        page.goto(f"{address}clues/")
        expect(page.get_by_text("Clue 2 moves from")).to_be_visible()
        expect(page.get_by_text(REASON)).to_be_visible()
        expect(page.get_by_text("in 10 days 23 hours")).to_be_visible()
        if has_script:
            look_at(page)


def shift_the_rest_without_script(page: Page, address: str) -> None:
    page.goto(f"{address}desk/clues/2/move/")
    page.get_by_label("Days", exact=True).fill("7")
    page.get_by_role("button", name="See what would change").click()
    page.get_by_label("Why").fill(REASON)
    page.get_by_role("button", name="Make this change").click()
    expect(page.get_by_text("2 mails are on their way, mail to hosts counted in.")).to_be_visible()


def test_an_open_page_shows_a_clue_by_itself_once_it_is_out(
    live_server, browser: Browser, harbour, kit, sign_in_to
):
    """The spread of a crowd is set to nothing here, by a page whose random numbers are all 0."""
    Clue.objects.filter(number=2).update(release_at=timezone.now() + timedelta(seconds=8))
    with browser.new_context(base_url=live_server.url, reduced_motion="reduce") as context:
        sign_in_to(context, kit.user)
        page = context.new_page()
        page.add_init_script("Math.random = () => 0")
        page.goto(f"/k/{harbour.slug}/clues/")
        expect(page.get_by_text("in less than a minute")).to_be_visible()
        expect(page.get_by_role("link", name="Clue 2: Clue title 2")).to_have_count(0)
        page.get_by_role("link", name="Clue 1: Clue title 1").focus()
        expect(page.get_by_role("link", name="Clue 2: Clue title 2")).to_be_visible(timeout=20_000)
        expect(page.locator("#clue-news")).to_have_text("Clue 2 is out.")
        expect(page.get_by_role("link", name="Clue 1: Clue title 1")).to_be_focused()


def test_the_addresses_of_calendar_and_news_are_made_and_renewed(
    live_server, browser: Browser, harbour, kit, sign_in_to
):
    with browser.new_context(base_url=live_server.url) as context:
        sign_in_to(context, kit.user)
        page = context.new_page()
        page.goto(f"/k/{harbour.slug}/clues/")
        page.get_by_role("link", name="Have them in your own calendar").click()
        look_at(page)
        page.get_by_role("button", name="Make my addresses").click()
        first = page.locator("code.address").first.inner_text()
        assert first.endswith("/clues.ics")
        look_at(page)
        page.get_by_role("button", name="Make new addresses").click()
        expect(page.get_by_text("the old ones answer no more")).to_be_visible()
        assert page.locator("code.address").first.inner_text() != first


def add_a_clue(page: Page, address: str, has_script: bool) -> None:
    """See what one more clue comes to, at another time too, and say yes, by keyboard alone."""
    page.goto(f"{address}desk/clues/")
    page.get_by_role("link", name="Add a clue at the end").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("No other clue moves or changes its number.")).to_be_visible()
    if has_script:
        look_at(page)
    later = page.get_by_label("Goes out at")
    later.fill("2019-05-06T18:00")
    later.press("Enter")
    expect(page.get_by_text("would go out at a time that has passed")).to_be_visible()
    if has_script:
        look_at(page)
    next_year = timezone.now().year + 1
    later.fill(f"{next_year}-12-20T18:00")
    page.get_by_role("button", name="See it at this time").press("Enter")
    expect(page.get_by_text(f"20 December {next_year}, 18:00").first).to_be_visible()
    assert Clue.objects.count() == 3
    page.get_by_label("Why").fill("There is yarn left for a border.")
    page.get_by_role("button", name="Make this change").press("Enter")
    expect(page.get_by_text("2 mails are on their way, mail to hosts counted in.")).to_be_visible()


@pytest.mark.parametrize("has_script", [True, False])
def test_the_organiser_sees_what_one_more_clue_means_before_it_is_added(
    live_server, browser: Browser, harbour, hana, kit, sign_in_to, has_script
):
    with browser.new_context(base_url=live_server.url, java_script_enabled=has_script) as context:
        sign_in_to(context, hana.user)
        add_a_clue(context.new_page(), f"/k/{harbour.slug}/", has_script)
    added = Clue.objects.get(number=4)
    assert (added.release_at.month, added.release_at.hour) == (12, 18)
    assert ScheduleChange.objects.get().reason == "There is yarn left for a border."
