"""A post with a photo, a second knitter before its cover, a question, a moderator's decision."""

from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from PIL import Image
from playwright.sync_api import Page, expect

from kal.models import Role
from schedule.models import Clue, Post
from tests.browser.conftest import DESK, assert_accessible, assert_fits_a_phone
from tests.builders import NOON, make_clue, make_knit_along, make_participant, make_post
from tests.photo_files import encoded

WEEK = timedelta(weeks=1)
COVER = "A post about clue 2, which you have not opened"


@pytest.fixture
def world(transactional_db):
    with time_machine.travel(NOON + WEEK + timedelta(hours=1), tick=True):
        knit_along = make_knit_along(slug="lanterns", zone="UTC")
        for number in (1, 2, 3):
            make_clue(knit_along, number)
        yield {
            "hana": make_participant(knit_along, "Hana", Role.ORGANISER),
            "mo": make_participant(knit_along, "Mo", Role.MODERATOR),
            "mia": make_participant(knit_along, "Mia"),
            "kit": make_participant(knit_along, "Kit"),
        }


@pytest.fixture
def page_of(live_server, browser, world):
    """Return a function that opens a window in which one of the people is signed in."""
    contexts = []

    def opened(name: str, **options) -> Page:
        client = Client()
        client.force_login(world[name].user)
        context = browser.new_context(base_url=live_server.url, viewport=DESK, **options)
        cookie = client.cookies["sessionid"]
        context.add_cookies([{"name": "sessionid", "value": cookie.value, "url": live_server.url}])
        contexts.append(context)
        page: Page = context.new_page()
        return page

    yield opened
    for context in contexts:
        context.close()


@pytest.fixture
def photo(tmp_path):
    path = tmp_path / "wing.jpg"
    path.write_bytes(encoded(Image.new("RGB", (900, 600), (40, 60, 120)), "JPEG"))
    return path


def checked(page: Page) -> None:
    assert_accessible(page)
    assert_fits_a_phone(page)
    page.set_viewport_size(DESK)


def show_progress(page: Page, photo) -> None:
    page.goto("/k/lanterns/progress/")
    page.get_by_role("link", name="Show yours").click()
    page.get_by_label("It shows").select_option("Clue 2")
    page.get_by_label("Photo", exact=False).first.set_input_files(photo)
    page.get_by_label("Words").fill("The second stripe is a wing.")
    page.get_by_role("button", name="Post it").click()


def is_drawn(page: Page) -> bool:
    return bool(
        page.locator(".post-photo img").evaluate("i => i.decode().then(() => i.naturalWidth)")
    )


def test_a_post_is_covered_uncovered_asked_about_and_hidden(world, page_of, photo):
    mia, kit, mo = page_of("mia"), page_of("kit"), page_of("mo")
    show_progress(mia, photo)
    alt = mia.get_by_label("What the photo shows")
    expect(alt).to_be_focused()
    assert alt.evaluate("box => box.validationMessage").startswith("Say what the photo shows")
    assert mia.get_by_label("Photo", exact=False).first.evaluate("box => box.files.length") == 1
    expect(mia.get_by_label("Words")).to_have_value("The second stripe is a wing.")
    checked(mia)
    mia.get_by_label("What the photo shows").fill("A dark blue wing")
    mia.get_by_label("Photo", exact=False).first.set_input_files(photo)
    mia.get_by_role("button", name="Post it").click()
    expect(mia.get_by_role("img", name="A dark blue wing")).to_be_visible()
    assert is_drawn(mia)
    # The browser took the smallest kind of file that it reads.
    assert mia.locator(".post-photo img").evaluate("i => i.currentSrc").endswith(".avif")

    kit.goto("/k/lanterns/progress/")
    expect(kit.get_by_text(COVER, exact=True)).to_be_visible()
    assert "wing" not in kit.content()
    checked(kit)
    # By keyboard, and without another page being loaded.
    kit.get_by_role("button", name="Show me").focus()
    kit.keyboard.press("Enter")
    expect(kit.get_by_role("img", name="A dark blue wing")).to_be_visible()
    expect(kit).to_have_url(kit.url)
    assert is_drawn(kit)
    checked(kit)

    kit.goto("/k/lanterns/clues/2/")
    checked(kit)
    kit.get_by_role("link", name="Questions about clue 2").click()
    kit.get_by_role("link", name="Ask a question").click()
    checked(kit)
    kit.get_by_label("Your question").fill("Is the wing knitted sideways?")
    kit.get_by_role("button", name="Ask", exact=True).click()
    expect(kit.get_by_role("heading", name="Kit asks")).to_be_visible()
    mia.goto("/k/lanterns/clues/2/")
    mia.goto("/k/lanterns/questions/")
    mia.get_by_role("link", name="No answer yet").click()
    mia.get_by_label("Your answer").fill("From tip to tail.")
    mia.get_by_role("button", name="Answer", exact=True).click()
    kit.reload()
    expect(kit.get_by_text("From tip to tail.")).to_be_visible()
    checked(kit)

    kit.goto("/k/lanterns/progress/")
    kit.get_by_role("link", name="Report").click()
    checked(kit)
    kit.get_by_label("What is wrong with it").fill("It is the picture of somebody else.")
    kit.get_by_role("button", name="Report it").click()
    mo.goto("/k/lanterns/progress/")
    expect(mo.get_by_text(COVER, exact=True)).to_be_visible()
    mo.get_by_role("link", name="Reports").click()
    checked(mo)
    mo.get_by_role("link", name="Decide").click()
    expect(mo.get_by_role("img", name="A dark blue wing")).to_be_visible()
    checked(mo)
    mo.get_by_label("Your reason, for its author").fill("Please show your own.")
    mo.get_by_role("button", name="Hide it").click()
    expect(mo.get_by_text("Nothing waits to be looked at.")).to_be_visible()
    kit.goto("/k/lanterns/progress/")
    expect(kit.get_by_text("Nobody has shown anything yet.")).to_be_visible()
    mia.goto("/k/lanterns/progress/")
    expect(mia.get_by_text("Please show your own.")).to_be_visible()
    checked(mia)


def test_the_organiser_answers_at_the_desk_and_shows_the_answer_with_the_clue(world, page_of):
    hana, kit = page_of("hana"), page_of("kit")
    kit.goto("/k/lanterns/questions/ask/?clue=1")
    kit.get_by_label("Your question").fill("Which side is the right one?")
    kit.get_by_role("button", name="Ask", exact=True).click()
    hana.goto("/k/lanterns/desk/questions/")
    checked(hana)
    hana.get_by_role("link", name="Answer it").click()
    hana.get_by_label("Your answer").fill("The ridged one.")
    hana.get_by_role("button", name="Answer", exact=True).click()
    hana.get_by_role("button", name="Show it with the clue").click()
    checked(hana)
    kit.goto("/k/lanterns/clues/1/")
    expect(kit.get_by_role("heading", name="Answered questions")).to_be_visible()
    expect(kit.get_by_text("The ridged one.")).to_be_visible()
    checked(kit)
    hana.get_by_role("link", name="Put it right in the clue").click()
    expect(hana.get_by_label("What you put right")).to_have_value("The ridged one.")


def test_all_of_it_works_without_script(world, page_of, photo):
    mia = page_of("mia", java_script_enabled=False)
    kit = page_of("kit", java_script_enabled=False)
    mo = page_of("mo", java_script_enabled=False)
    mia.goto("/k/lanterns/progress/new/")
    mia.get_by_label("It shows").select_option("Clue 2")
    mia.get_by_label("Photo", exact=False).first.set_input_files(photo)
    mia.get_by_label("What the photo shows").fill("A dark blue wing")
    mia.get_by_role("button", name="Post it").click()
    kit.goto("/k/lanterns/progress/")
    kit.get_by_role("button", name="Show me").click()
    expect(kit.get_by_role("img", name="A dark blue wing")).to_be_visible()
    mo.goto(f"/k/lanterns/moderation/post/{Post.objects.get().key}/")
    mo.get_by_label("Your reason, for its author").fill("Please show your own.")
    mo.get_by_role("button", name="Hide it").click()
    answer = kit.reload()
    assert answer
    assert answer.status == 404


@pytest.mark.parametrize("has_script", [True, False])
def test_a_post_is_edited_and_covered_anew(world, page_of, has_script):
    make_post(world["mia"], Clue.objects.get(number=1), words="The second stripe is a wing.")
    mia, kit = (page_of(name, java_script_enabled=has_script) for name in ("mia", "kit"))
    kit.goto("/k/lanterns/clues/1/")
    kit.goto("/k/lanterns/progress/")
    expect(kit.get_by_text("The second stripe is a wing.")).to_be_visible()
    mia.goto("/k/lanterns/progress/")
    mia.get_by_role("link", name="Edit my post").press("Enter")
    if has_script:
        checked(mia)
    mia.get_by_label("Words").fill("")
    mia.get_by_role("button", name="Save").press("Enter")
    expect(mia.get_by_text("Say something, or remove the post instead.")).to_be_visible()
    if has_script:
        checked(mia)
    mia.get_by_label("Words").fill("The second stripe is a blue wing.")
    mia.get_by_label("It shows").select_option("Clue 2")
    mia.get_by_role("button", name="Save").press("Enter")
    expect(mia.get_by_text("Your post is changed.")).to_be_visible()
    expect(mia.get_by_text("edited", exact=False).first).to_be_visible()
    kit.reload()
    expect(kit.get_by_text(COVER, exact=True)).to_be_visible()
    assert "wing" not in kit.content()
    mo = page_of("mo", java_script_enabled=has_script)
    mo.goto(f"/k/lanterns/moderation/post/{Post.objects.get().key}/")
    expect(mo.get_by_text("The second stripe is a wing.")).to_be_visible()
    if has_script:
        checked(mo)
