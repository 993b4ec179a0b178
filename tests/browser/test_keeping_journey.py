"""Next year, the archive and one's own data in a browser; and that no page asks anybody else."""

import json
import re
import zipfile
from urllib.parse import urlsplit

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from kal.models import KnitAlong, Participant, User
from tests.browser.conftest import assert_accessible, assert_fits_a_phone
from tests.builders import make_clue, make_registration
from tests.commands.test_backup import store_photo
from tests.embargo.routes import all_routes


@pytest.fixture
def host(hana):
    hana.user.may_host = True
    hana.user.save()
    return hana


def look(page) -> None:
    assert_accessible(page)
    assert_fits_a_phone(page)


@pytest.mark.parametrize("has_script", [True, False], ids=["script", "no script"])
def test_next_year_is_made_and_this_year_archived(
    live_server, browser, sign_in_to, host, kit, has_script
):
    knit_along = host.knit_along
    KnitAlong.objects.filter(pk=knit_along.pk).update(colour_count=4, clue_count=2)
    with browser.new_context(base_url=live_server.url, java_script_enabled=has_script) as context:
        sign_in_to(context, host.user)
        page = context.new_page()
        page.goto(f"{knit_along.get_absolute_url()}desk/keeping/")
        if has_script:
            look(page)
        page.get_by_role("link", name="Make next year").focus()
        page.keyboard.press("Enter")
        page.wait_for_url("**/clone/")
        if has_script:
            look(page)
        page.get_by_label("Title").fill("Harbour once more")
        page.get_by_label("Number of colours").fill("5")
        page.get_by_role("button", name="Create it").click()
        expect(page).to_have_url(re.compile("/k/harbour-once-more/desk/clues/"))
        new = KnitAlong.objects.get(slug="harbour-once-more")
        assert (new.colour_count, new.clues.count()) == (5, 2)

        page.goto(f"{knit_along.get_absolute_url()}desk/keeping/")
        page.get_by_label("Erase those who left").fill("90")
        page.get_by_role("button", name="Save").click()
        expect(page.get_by_text("It is erased 90 days after the last clue")).to_be_visible()
        page.get_by_role("button", name="Archive it").click()
        expect(page.get_by_text("Archived: everything can be read").first).to_be_visible()
        if has_script:
            look(page)
        page.goto(f"{knit_along.get_absolute_url()}desk/glossary/")
        page.get_by_role("button", name="Save").first.click()
        expect(page.get_by_role("alert")).to_contain_text("is archived")
        page.goto(f"{knit_along.get_absolute_url()}desk/keeping/")
        page.get_by_role("button", name="Take it out of the archive").click()
        expect(page.get_by_role("button", name="Archive it")).to_be_visible()


def test_a_knitter_takes_a_copy_and_is_erased(live_server, page, sign_in, hana, kit, tmp_path):
    make_registration(kit)
    store_photo(kit, b"pixels")
    sign_in(kit.user)
    page.goto(f"{live_server.url}/settings/")
    page.get_by_role("link", name="What is kept about you").click()
    page.eval_on_selector_all("details", "all => all.forEach((one) => one.open = true)")
    look(page)
    with page.expect_download() as download:
        page.get_by_role("button", name="Export mine").click()
    download.value.save_as(tmp_path / "mine.zip")
    with zipfile.ZipFile(tmp_path / "mine.zip") as archive:
        assert json.loads(archive.read("data.json"))["kal.user"][0]["email"] == kit.user.email
    page.get_by_label("Your mail address").fill("somebody@else.example")
    page.get_by_role("button", name="Erase me").click()
    expect(page.get_by_text("That is not your mail address")).to_be_visible()
    look(page)
    page.get_by_label("Your mail address").fill(kit.user.email)
    page.get_by_label("Your mail address").press("Enter")
    expect(page.get_by_text("You are erased.")).to_be_visible()
    look(page)
    assert not User.objects.filter(pk=kit.user.pk).exists()
    assert not Participant.objects.filter(pk=kit.pk).exists()


def test_no_page_asks_anybody_else_for_anything(live_server, page, sign_in, host, kit):
    """Every page an organiser or a participant can open without typing, its scripts run."""
    make_registration(kit)
    make_clue(
        host.knit_along,
        release_at=host.knit_along.sign_up_opens_at,
        body="See [a film](https://films.example/1) ![x](https://spy.example/pixel.gif)",
    )
    own = urlsplit(live_server.url).netloc
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    addresses = ["/", "/new/", "/settings/", "/settings/data/", "/sign-in/"]
    values = {"slug": host.knit_along.slug, "number": 1}
    for route in all_routes():
        if set(route.arguments) <= values.keys() and "slug" in route.arguments:
            chosen = {name: values[name] for name in route.arguments}
            addresses.append(reverse(route.name, kwargs=chosen))
    for person in (host, kit):
        sign_in(person.user)
        for address in addresses:
            answer = page.request.get(f"{live_server.url}{address}", max_redirects=0)
            kind = answer.headers.get("content-type", "")
            if answer.status == 200 and kind.startswith("text/html"):
                page.goto(f"{live_server.url}{address}", wait_until="load")
    strangers = {url for url in asked if url.startswith("http") and urlsplit(url).netloc != own}
    assert strangers == set()
    assert len({url for url in asked if url.startswith(live_server.url)}) > 60
