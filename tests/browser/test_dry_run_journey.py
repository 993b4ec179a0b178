"""The organiser tries the palettes, sends a kind note, and it arrives; the knitter mends it."""

import re
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from schedule.models import LetterChoice
from schedule.notices.sweep import sweep
from tests.browser.conftest import DESK, assert_accessible, assert_fits_a_phone
from tests.browser.test_journey import use_real_mail
from tests.builders import make_clue, make_meeting, make_participant, make_registration
from tests.smtp_sink import running_sink


@pytest.fixture
def harbour(knit_along, hana, kit):
    """Clue 1 is out and A meets B in it; Kit cannot tell them apart, Fern can."""
    knit_along.cast_on_at = timezone.now() - timedelta(days=1)
    knit_along.save()
    first, second = make_clue(knit_along, 1), make_clue(knit_along, 2)
    make_meeting(first, "AB", technique="two-row stripes")
    make_meeting(second, "AE", technique="slipped stitches")
    make_registration(kit, (20, 24, 60, 75, 92))
    make_registration(make_participant(knit_along, "Fern"), (15, 45, 60, 75, 95))
    return knit_along


def look_at(page: Page) -> None:
    page.eval_on_selector_all("details", "all => all.forEach((one) => one.open = true)")
    assert_accessible(page)
    assert_fits_a_phone(page)
    page.set_viewport_size(DESK)


def test_a_dry_run_a_note_and_letters_of_ones_own(
    live_server, page, sign_in, harbour, hana, kit, settings
):
    base = f"{live_server.url}{harbour.get_absolute_url()}"
    sign_in(hana.user)
    page.goto(f"{base}desk/dry-run/")
    expect(page.locator(".lede")).to_contain_text(
        "1 of 2 registered palettes has a meeting that does not read."
    )
    expect(page.locator(".lede")).to_contain_text("The culprit is A and B in clue 1")
    look_at(page)
    page.get_by_role("link", name="Write the note").click()
    look_at(page)
    words = page.get_by_label("Words")
    words.fill(words.input_value().replace("every palette", "every palette tonight"))
    page.get_by_role("button", name="Look at it first").click()
    expect(page.locator(".note-preview")).to_contain_text(
        "every palette tonight. In yours, yarns that are worked side by side are closer to each "
        "other than the pattern asks for: A and B (Grey 20 beside Grey 24)."
    )
    look_at(page)
    with running_sink() as sink:
        use_real_mail(settings, sink)
        page.get_by_role("button", name="Send it to 1 person").click()
        expect(page.get_by_text("1 note is on its way.")).to_be_visible()
        expect(page.get_by_text("has a note already")).to_be_visible()
        sweep(clock=timezone.now)
        told = [mail for mail in sink.mails if mail["Subject"] == "A word about your palette"]
    assert [mail["To"] for mail in told] == [kit.user.email]
    plain = told[0].get_body(("plain",))
    assert plain
    text = plain.get_content()
    assert "A and B (Grey 20 beside Grey 24)" in text
    assert "two-row stripes" not in text

    page.goto(f"{base}desk/letters/")
    look_at(page)
    page.get_by_role("button", name="Open the letter plan").click()
    expect(page.get_by_role("heading", name="Open the letter plan now?")).to_be_visible()
    look_at(page)
    page.get_by_role("button", name="Yes, open it now").click()
    expect(page.get_by_text("The letter plan is open.")).to_be_visible()

    sign_in(kit.user)
    link = re.search(r"https?://\S+/letters/", text)
    assert link
    page.goto(link[0].replace(settings.BASE_URL, live_server.url))
    expect(page.get_by_role("heading", name="A note from the organiser")).to_be_visible()
    look_at(page)
    page.get_by_label("Yarn for A").select_option("Grey 24")
    page.get_by_role("button", name="Keep these letters").click()
    expect(page.get_by_text("give ", exact=False).first).to_be_visible()
    look_at(page)
    page.goto(f"{base}letters/")
    page.get_by_role("button", name="Keep these letters").click()
    expect(page.get_by_text("These letters are yours now.")).to_be_visible()
    assert LetterChoice.objects.get().participant == kit
    page.goto(f"{base}clues/1/")
    page.get_by_role("link", name="My colours in this clue").click()
    expect(page.get_by_text("Your yarns read well wherever two colours meet")).to_be_visible()
    look_at(page)

    sign_in(hana.user)
    page.goto(f"{base}desk/dry-run/1/")
    expect(page.get_by_text("All 2 registered palettes read everything.")).to_be_visible()
    look_at(page)
