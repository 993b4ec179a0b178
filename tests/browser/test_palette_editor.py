"""The palette in a browser: every change reaches the audit, and nothing typed is lost."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from palettes.models import Yarn
from tests.browser.conftest import assert_accessible, assert_fits_a_phone
from tests.builders import make_palette, make_yarn

pytestmark = pytest.mark.django_db(transaction=True)
NAMES = ("Ink pad", "Toast", "Sea glass", "Brick", "Oat")


@pytest.fixture
def palette(kit):
    palette = make_palette(kit)
    for n, name in enumerate(NAMES):
        make_yarn(
            palette,
            name=name,
            place=Yarn.Place.CHOSEN,
            position=n,
            lab_l=18 + 17 * n,
            lab_a=10 * n - 20,
            lab_b=5.0,
            dye_style="speckled" if n % 2 else "solid",
        )
    make_yarn(palette, name="Plum")
    return palette


@pytest.fixture
def editor(page, live_server, sign_in, kit, knit_along, palette):
    """The open page of Kit's palette."""
    sign_in(kit.user)
    page.goto(live_server.url + reverse("palettes:palette", args=[knit_along.slug]))
    return page


def answered(page):
    """Wait for the answer to a change."""
    return page.expect_response(lambda response: response.request.method == "POST")


def order(page):
    return [text.split("\n")[0] for text in page.locator(".is-chosen .yarn-row").all_inner_texts()]


def test_a_yarn_added_is_compared_at_once(editor, palette):
    palette.yarns.filter(name="Oat").delete()
    editor.reload()
    assert editor.locator(".pairs tbody tr").count() == 6
    editor.fill("#yarn-new-name", "Moss")
    editor.fill("#yarn-new-colour", "#3f5a2a")
    with answered(editor):
        editor.click("#new-add")
    editor.locator(".pairs tbody tr").nth(9).wait_for()
    assert editor.evaluate("document.activeElement.id") == "new-add"


def test_the_next_yarn_may_be_typed_before_the_answer(editor, palette):
    palette.yarns.filter(name="Oat").delete()
    editor.reload()
    editor.fill("#yarn-new-name", "Moss")
    editor.fill("#yarn-new-colour", "#3f5a2a")
    held = []
    editor.route("**/palette/yarns/", lambda route: held.append(route), times=1)
    editor.click("#new-add")
    editor.fill("#yarn-new-name", "Birch")
    held[0].continue_()
    editor.locator(".yarn-row", has_text="Moss").wait_for()
    expect(editor.locator("#yarn-new-name")).to_have_value("Birch")
    expect(editor.locator("#yarn-new-colour")).to_have_value("")
    assert palette.yarns.filter(name="Birch").count() == 0


def test_the_arrow_keys_move_a_yarn_and_the_focus_stays(editor):
    first = editor.locator(".is-chosen button[value=down]").first
    first.focus()
    focused = first.get_attribute("id")
    with answered(editor):
        editor.keyboard.press("ArrowDown")
    editor.wait_for_function(
        "document.querySelector('.is-chosen .yarn-row').innerText.includes('Toast')"
    )
    assert order(editor)[:2] == ["Toast", "Ink pad"]
    assert editor.evaluate("document.activeElement.id") == focused


def test_a_sixth_chosen_says_why_not(editor):
    with answered(editor) as answer:
        editor.locator(".is-candidate button[value=chosen]").click()
    assert answer.value.status == 422
    alert = editor.locator("#state [role=alert]")
    alert.wait_for()
    assert "You have already chosen 5 yarns" in alert.inner_text()


def test_a_refused_value_outlives_other_changes_until_it_is_right(editor, palette):
    editor.locator(".is-chosen >> text=Edit").first.click()
    fibre = editor.locator(".yarn-form input[name=fibre]")
    fibre.fill("80% wool, 40% nylon")
    with answered(editor):
        fibre.press("Tab")
    error = editor.locator(".yarn-form .field-error p")
    error.wait_for()
    assert "add up to 120%" in error.inner_text()
    assert fibre.get_attribute("aria-invalid") == "true"
    with answered(editor):
        editor.locator(".is-chosen button[value=down]").nth(2).click()
    editor.wait_for_function(
        "document.querySelectorAll('.is-chosen .yarn-row')[2].innerText.includes('Brick')"
    )
    assert fibre.input_value() == "80% wool, 40% nylon"
    fibre.fill("80% wool, 20% nylon")
    with answered(editor):
        fibre.press("Tab")
    error.wait_for(state="detached")
    assert palette.yarns.get(name="Ink pad").fibre == "80% wool, 20% nylon"


def test_the_picker_and_the_code_say_the_same(editor, palette):
    editor.locator(".is-chosen >> text=Edit").first.click()
    picker = editor.locator(".yarn-form input[type=color]")
    with answered(editor):
        picker.fill("#00aa55")
    assert editor.locator(".yarn-form input[name=colour]").input_value() == "#00aa55"
    editor.locator(".is-chosen .yarn-row rect[fill='#00aa55']").wait_for()
    assert palette.yarns.get(name="Ink pad").hex == "#00aa55"


def test_registering_needs_no_new_page(editor, palette):
    with answered(editor):
        editor.click("#register")
    editor.locator("#state strong", has_text="Registered").wait_for()
    assert palette.registration.number == 1


def test_the_page_is_accessible_and_fits_a_phone(editor):
    assert_accessible(editor)
    editor.locator(".is-chosen >> text=Edit").first.click()
    editor.locator(".yarn-form").wait_for()
    assert_accessible(editor)
    assert_fits_a_phone(editor)


def test_a_change_made_when_signed_out_is_handed_back_and_sent_again(
    editor, context, sign_in, kit, palette, knit_along
):
    palette.yarns.filter(name="Oat").delete()
    editor.reload()
    context.clear_cookies(name="sessionid")
    editor.fill("#yarn-new-name", "Moss, the skein from the attic")
    editor.fill("#yarn-new-colour", "#3f5a2a")
    editor.click("#new-add")
    expect(editor.locator("h1")).to_have_text("Nothing was saved")
    expect(editor.locator(".unsent")).to_have_text("Moss, the skein from the attic")
    assert_accessible(editor)
    assert_fits_a_phone(editor)

    sign_in(kit.user)
    editor.get_by_role("button", name="Send it again").click()
    expect(editor.locator("h1")).not_to_have_text("Nothing was saved")
    assert palette.yarns.filter(name="Moss, the skein from the attic").count() == 1
    assert reverse("palettes:palette", args=[knit_along.slug]) in editor.url


def test_a_press_when_signed_out_leads_to_signing_in(editor, context, palette):
    context.clear_cookies(name="sessionid")
    editor.get_by_role("button", name="Register").first.click()
    expect(editor.locator("h1")).to_have_text("Sign in")
    assert palette.registration is None
