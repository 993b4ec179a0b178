"""The base app's pages in a real browser: accessible, phone-wide, and signed in to by hand."""

import re

import pytest
from django.core import mail
from playwright.sync_api import expect

from kal.models import JoinCode, JoinListEntry
from tests.browser.conftest import assert_accessible, assert_fits_a_phone
from tests.builders import make_clue, make_user


def mailed_code() -> str:
    found = re.search(r"^ +([A-Z-]+)$", str(mail.outbox[-1].body), flags=re.MULTILINE)
    assert found
    return found.group(1)


def look_at(page, *addresses: str) -> None:
    for address in addresses:
        page.goto(address)
        page.eval_on_selector_all("details", "all => all.forEach((one) => one.open = true)")
        assert_accessible(page)
        assert_fits_a_phone(page)


@pytest.fixture
def harbour(knit_along):
    """A knit-along with something on every page of its desk."""
    knit_along.join_rule = "code"
    knit_along.save()
    make_clue(knit_along, 1, title_is_secret=False)
    make_clue(knit_along, 2)
    JoinCode.objects.create(knit_along=knit_along, label="parcels of 3 March")
    JoinListEntry.objects.create(knit_along=knit_along, email="nell@knitters.example")
    return knit_along


def test_a_new_person_signs_in_and_their_zone_is_guessed(live_server, browser, db):
    with browser.new_context(timezone_id="America/Toronto", base_url=live_server.url) as context:
        page = context.new_page()
        page.goto("/sign-in/")
        assert_accessible(page)
        page.get_by_label("Mail address").fill("nell@knitters.example")
        page.get_by_role("button", name="Mail me a code").click()
        page.get_by_label("Code").fill("wrong")
        page.get_by_role("button", name="Sign in").click()
        expect(page.get_by_text("That is not the code in the mail.")).to_be_visible()
        assert_accessible(page)
        page.get_by_label("Code").fill(mailed_code())
        page.keyboard.press("Enter")
        expect(page.get_by_label("Time zone")).to_have_value("America/Toronto")
        assert_accessible(page)
        page.get_by_label("The name you go by").fill("Nell")
        page.get_by_role("button", name="Save").click()
        expect(page.get_by_text("Times are shown in America/Toronto.")).to_be_visible()


def test_a_zone_is_guessed_though_the_browser_has_an_older_name_for_it(
    live_server, browser, sign_in_to, db
):
    with browser.new_context(timezone_id="Asia/Calcutta", base_url=live_server.url) as context:
        sign_in_to(context, make_user(name=""))
        page = context.new_page()
        page.goto("/settings/")
        expect(page.get_by_label("Time zone")).to_have_value("Asia/Calcutta")
        assert_accessible(page)
        page.get_by_label("The name you go by").fill("Asha")
        page.get_by_role("button", name="Save").click()
        expect(page.get_by_text("Times are shown in Asia/Kolkata.")).to_be_visible()


def test_pages_for_visitors(live_server, page, harbour):
    look_at(page, *(f"{live_server.url}{path}" for path in ("/", "/nowhere/", "/sign-in/")))
    look_at(page, f"{live_server.url}{harbour.get_absolute_url()}")


def test_pages_for_participants(live_server, page, sign_in, harbour, kit, sam):
    base = f"{live_server.url}{harbour.get_absolute_url()}"
    sign_in(kit.user)
    look_at(page, f"{live_server.url}/", f"{live_server.url}/settings/", base)
    look_at(page, f"{base}prepare/?weight=50&length=200", f"{base}membership/")
    sign_in(sam)
    look_at(page, f"{base}join/?code=WRONG")


def test_pages_for_organisers(live_server, page, sign_in, harbour, hana, kit):
    hana.user.may_host = True
    hana.user.save()
    sign_in(hana.user)
    desk = f"{live_server.url}{harbour.get_absolute_url()}desk/"
    pages = ("", "edit/", "people/", "codes/", "join-list/", "log/")
    look_at(page, f"{live_server.url}/new/", *(f"{desk}{name}" for name in pages))
