"""A batch is printed and a buyer joins with a code of it; a dyer's kit is adopted in a click."""

import pytest
from django.core.cache import cache
from playwright.sync_api import Page, expect

from kal.models import JoinCode
from palettes.models import Kit
from tests.browser.conftest import DESK, assert_accessible, assert_fits_a_phone
from tests.builders import make_clue, make_kit, make_kit_maker, make_meeting, make_user
from tests.core.photo_scenes import flat, yarn
from tests.photo_files import from_linear

BUYERS = "email,name,order\nada@knitters.example,Ada,1001\nnobody,Nobody,1002\n"
COLOURS = ("#f2ead8", "#d9a441", "#6f8f72", "#7a3f5c", "#1f2a44")


def look_at(page: Page) -> None:
    page.eval_on_selector_all("details", "all => all.forEach((one) => one.open = true)")
    assert_accessible(page)
    assert_fits_a_phone(page)
    page.set_viewport_size(DESK)


@pytest.fixture
def base(live_server, knit_along, settings) -> str:
    settings.BASE_URL = live_server.url
    return f"{live_server.url}{knit_along.get_absolute_url()}"


@pytest.fixture
def open_now(knit_along):
    """Sign-up has no end in these tests, which run by the real clock."""
    knit_along.sign_up_opens_at = knit_along.sign_up_opens_at.replace(year=2020)
    knit_along.sign_up_closes_at = knit_along.sign_up_closes_at.replace(year=2090)
    knit_along.join_rule = "code"
    knit_along.save()
    return knit_along


def test_buyers_are_imported_a_batch_is_printed_and_a_buyer_joins(
    page, sign_in, base, open_now, hana
):
    sign_in(hana.user)
    page.goto(f"{base}desk/join-list/")
    page.get_by_role("link", name="list of buyers").click()
    look_at(page)
    page.get_by_label("CSV file").set_input_files(
        {"name": "march.csv", "mimeType": "text/csv", "buffer": BUYERS.encode()}
    )
    page.get_by_role("button", name="Look at the file").click()
    expect(page.get_by_text("1 address would be added.")).to_be_visible()
    expect(page.get_by_text("Row 3: “nobody” is not a mail address.")).to_be_visible()
    look_at(page)
    page.get_by_role("button", name="Add 1 address").click()
    expect(page.get_by_text("1 address is on the list now.")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("Undone: 1 taken off the list")).to_be_visible()
    look_at(page)

    page.goto(f"{base}desk/codes/")
    page.get_by_role("link", name="batches of single-use codes").click()
    page.get_by_label("Name of the batch").fill("first parcels")
    page.get_by_label("How many codes").fill("12")
    look_at(page)
    page.get_by_label("How many codes").press("Enter")
    expect(page.get_by_role("heading", name="first parcels")).to_be_visible()
    look_at(page)
    cards = page.request.get(f"{page.url}cards/?paper=letter&cards=4")
    assert cards.headers["content-type"] == "application/pdf"

    code = JoinCode.objects.earliest("pk")
    sign_in(make_user("Ada"))
    page.goto(f"{base}join/?code={code.code}")
    expect(page.get_by_label("Join code")).to_have_value(code.code)
    look_at(page)
    page.get_by_role("button", name="Join").click()
    expect(page.get_by_role("heading", name="Choosing your yarns")).to_be_visible()
    look_at(page)
    sign_in(hana.user)
    page.goto(f"{base}desk/codes/batches/{code.batch_id}/")
    expect(page.get_by_text("1 of 12 codes used.")).to_be_visible()
    page.goto(f"{base}desk/people/")
    look_at(page)
    page.goto(f"{base}desk/people/transfer/?from=ada@knitters.example")
    look_at(page)


@pytest.mark.parametrize("javascript", [True, False])
def test_a_dyer_proposes_the_organiser_approves_and_a_knitter_adopts(
    new_context, sign_in_to, base, open_now, hana, kit, javascript
):
    context = new_context(java_script_enabled=javascript, viewport=DESK)
    page = context.new_page()
    make_meeting(make_clue(open_now, 1), "AE")

    def look() -> None:
        if javascript:
            look_at(page)

    sign_in_to(context, hana.user)
    page.goto(f"{base}desk/kits/")
    page.get_by_label("name of the shop or dyer").fill("The dye shed at Low Lane")
    page.get_by_label("mail address").fill("dora@shed.example")
    page.get_by_role("button", name="Invite").click()
    expect(page.get_by_text(f"{base}kits/mine/")).to_be_visible()
    look()

    cache.clear()
    sign_in_to(context, make_user("Dora", email="dora@shed.example"))
    page.goto(f"{base}kits/mine/")
    page.get_by_role("link", name="Begin a kit").click()
    page.get_by_label("name of the kit").fill("Low tide")
    page.get_by_label("link to your own page of it").fill("https://low-lane.example/low-tide")
    page.get_by_label("what you have of it").fill("Eleven left")
    look()
    page.get_by_role("button", name="Save, then enter its yarns").click()
    for number, colour in enumerate(COLOURS, 1):
        page.get_by_label("Yarn name").fill(f"Tide {number}")
        page.get_by_label("Colour", exact=True).fill(colour)
        page.get_by_label("Grams in one ball").fill("100")
        page.get_by_label("Metres in one ball").fill("400")
        page.get_by_role("button", name="Add this yarn").click()
        expect(page.get_by_text(f"Tide {number} is in the kit.")).to_be_visible()
    look()
    page.get_by_role("button", name="Propose it to the organiser").click()
    expect(page.get_by_text("The organiser has this kit to look at.")).to_be_visible()

    sign_in_to(context, hana.user)
    page.goto(f"{base}desk/kits/")
    page.get_by_role("link", name="Low tide").click()
    look()
    page.get_by_role("button", name="Approve this kit").click()
    expect(page.get_by_text("Participants see “Low tide” now")).to_be_visible()
    look()
    page.get_by_role("link", name="Try the kits against the meetings").click()
    expect(page.get_by_text("Reads everything.")).to_be_visible()
    look()

    sign_in_to(context, kit.user)
    page.goto(f"{base}palette/")
    page.get_by_role("link", name="Kits").click()
    look()
    page.get_by_role("link", name="Low tide").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("link", name="Low tide on low-lane.example")).to_be_visible()
    look()
    page.get_by_role("button", name="Adopt this kit").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("The yarns of “Low tide” are chosen now")).to_be_visible()
    assert kit.palette.yarns.chosen().count() == 5
    assert kit.palette.kit == Kit.objects.get()
    context.close()


@pytest.fixture
def skeins():
    """A blue and a red skein on a table, white paper at the right."""
    scene = flat((70, 2, 8), 300, 700)
    scene[40:260, 40:280] = yarn((35, 5, -35))[:220]
    scene[40:260, 320:560] = yarn((45, 45, 28))[:220]
    scene[20:280, 600:680] = 0.876
    return from_linear(scene * 0.9)


@pytest.mark.parametrize("has_script", [True, False])
def test_a_dyer_measures_a_kit_in_a_photo(
    browser, base, sign_in_to, knit_along, skeins, has_script
):
    dora = make_user("Dora")
    kit = make_kit(knit_along, levels=(20,), maker=make_kit_maker(knit_along, email=dora.email))
    with browser.new_context(java_script_enabled=has_script) as context:
        sign_in_to(context, dora)
        page = context.new_page()
        page.goto(f"{base}kits/mine/{kit.pk}/")
        page.get_by_role("link", name="Measure its yarns in a photo").press("Enter")
        if has_script:
            look_at(page)
        page.get_by_label("Photo").set_input_files(
            {"name": "shed.png", "mimeType": "image/png", "buffer": skeins}
        )
        page.get_by_role("button", name="Upload").press("Enter")
        expect(page.get_by_label("Yarn 1 is")).to_be_visible()
        if has_script:
            look_at(page)
        page.get_by_label("Yarn 1 is").select_option(label="Kit 20")
        page.get_by_role("button", name="Put the colours on the kit").press("Enter")
        expect(page.get_by_text("Kit 20 has its colour:")).to_be_visible()
        page.get_by_role("link", name="To the kit").press("Enter")
        expect(page.get_by_role("heading", name=kit.title)).to_be_visible()
    assert kit.yarns.get().measured_by == "photo"
