"""Boxes on a photo in a browser: by mouse, by finger, by keyboard alone; nothing placed is lost."""

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from palettes import marking
from palettes.colour.light import Box
from palettes.models import Mark, Yarn
from palettes.photos import read_photo
from tests.browser.conftest import PHONE, assert_accessible, assert_fits_a_phone
from tests.builders import make_palette, make_yarn
from tests.core.photo_scenes import flat, yarn
from tests.photo_files import from_linear

pytestmark = pytest.mark.django_db(transaction=True)
BLUE, RED, TABLE = (35, 5, -35), (45, 45, 28), (70, 2, 8)


@pytest.fixture
def photo(kit):
    make_yarn(make_palette(kit), name="Ink")
    scene = flat(TABLE, 300, 700)
    scene[40:260, 40:280] = yarn(BLUE)[:220]
    scene[40:260, 320:560] = yarn(RED, style="tonal", seed=2)[:220]
    scene[20:280, 600:680] = 0.876
    picture = read_photo(from_linear(scene * 0.9))
    stored = marking.add_marked_photo(kit, picture, now=timezone.now())
    stored.marks.all().delete()
    Mark.objects.create(photo=stored, box=Box(0.1, 0.2, 0.3, 0.6))
    return stored


def visit(page, live_server, photo):
    slug = photo.participant.knit_along.slug
    page.goto(live_server.url + reverse("palettes:photo", args=[slug, photo.pk]))
    expect(page.locator("#marks.is-live")).to_be_visible()
    return page


@pytest.fixture
def board(page, live_server, sign_in, kit, photo):
    sign_in(kit.user)
    return visit(page, live_server, photo)


def answered(page):
    return page.expect_response(lambda response: response.request.method == "POST")


def drag(page, part, across, down):
    """Drag a part of a box by a share of the photo's width and height."""
    box, stage = part.bounding_box(), page.locator("#spot").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + across * stage["width"] / 2, y + down * stage["height"] / 2)
    page.mouse.move(x + across * stage["width"], y + down * stage["height"])
    page.mouse.up()


def close_to(box, *edges):
    assert (box.left, box.top, box.right, box.bottom) == pytest.approx(edges, abs=0.012)


def test_the_mouse_moves_and_resizes_a_box(board, photo):
    mark = photo.marks.get()
    expect(board.locator(f"#mark-{mark.pk}-reading")).to_contain_text("Dark blue")
    with answered(board):
        drag(board, board.locator(f"#mark-{mark.pk}-body"), 0.4, 0.1)
    expect(board.locator(f"#mark-{mark.pk}-reading")).to_contain_text("red")
    mark.refresh_from_db()
    close_to(mark.box, 0.5, 0.3, 0.7, 0.7)
    with answered(board):
        drag(board, board.locator(f"#mark-{mark.pk}-grip"), 0.05, -0.1)
    mark.refresh_from_db()
    close_to(mark.box, 0.5, 0.3, 0.75, 0.6)


def test_a_box_cannot_leave_the_photo(board, photo):
    mark = photo.marks.get()
    with answered(board):
        drag(board, board.locator(f"#mark-{mark.pk}-body"), -0.9, 0.9)
    mark.refresh_from_db()
    close_to(mark.box, 0, 0.6, 0.2, 1)


def test_by_keyboard_alone(board, photo):
    """Tab to the box, move it onto the red yarn, resize it, name it, save it."""
    mark = photo.marks.get()
    for _ in range(40):
        board.keyboard.press("Tab")
        if board.evaluate("document.activeElement.id") == f"mark-{mark.pk}-body":
            break
    body = board.locator(f"#mark-{mark.pk}-body")
    expect(body).to_be_focused()
    expect(body).to_have_accessible_name(
        "Box of yarn 1: the arrow keys move it, with Shift they resize it"
    )
    with answered(board):
        for _ in range(80):
            board.keyboard.press("ArrowRight")
        for _ in range(10):
            board.keyboard.press("Shift+ArrowDown")
    expect(board.locator("#marks-said")).to_contain_text("From the left 50 %")
    expect(body).to_be_focused()
    mark.refresh_from_db()
    close_to(mark.box, 0.5, 0.2, 0.7, 0.65)
    with answered(board):
        board.keyboard.press("+")
    board.keyboard.press("Tab")
    expect(board.locator(f"#mark-{mark.pk}-grip")).to_be_focused()
    with answered(board):
        board.keyboard.press("ArrowLeft")
    mark.refresh_from_db()
    close_to(mark.box, 0.495, 0.195, 0.7, 0.655)
    with answered(board):
        board.get_by_label("Yarn 1 is").select_option(label="Ink")
    board.locator("#apply-marks").focus()
    with answered(board):
        board.keyboard.press("Enter")
    expect(board.locator("#marks-applied")).to_contain_text("Ink has its colour: medium red")
    expect(board.locator("#marks-applied")).to_be_in_viewport()
    ink = Yarn.objects.get()
    assert ink.is_pictured
    close_to(ink.region, 0.495, 0.195, 0.7, 0.655)


def test_a_finger_on_a_phone(browser, live_server, kit, photo, sign_in, context):
    sign_in(kit.user)
    phone = browser.new_context(
        viewport=PHONE, has_touch=True, is_mobile=True, storage_state=context.storage_state()
    )
    page = visit(phone.new_page(), live_server, photo)
    mark = photo.marks.get()
    start = page.locator(f"#mark-{mark.pk}-body").bounding_box()
    stage = page.locator("#spot").bounding_box()
    x, y = start["x"] + start["width"] / 2, start["y"] + start["height"] / 2
    touch = phone.new_cdp_session(page)

    def send(kind, *points):
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": list(points)})

    with answered(page):
        send("touchStart", {"x": x, "y": y})
        for step in (0.1, 0.2, 0.3, 0.4):
            send("touchMove", {"x": x + step * stage["width"], "y": y})
        send("touchEnd")
    mark.refresh_from_db()
    close_to(mark.box, 0.5, 0.2, 0.7, 0.6)
    assert page.evaluate("scrollY") == 0
    expect(page.get_by_text("By keyboard: Tab to a box")).to_be_hidden()
    with answered(page):
        page.touchscreen.tap(stage["x"] + 0.15 * stage["width"], stage["y"] + 0.8 * stage["height"])
    expect(page.locator(".mark-card")).to_have_count(2)
    phone.close()


def test_pressing_the_photo_adds_a_box_and_removing_takes_it_away(board, photo):
    board.get_by_label("Yarn 1 is").select_option(label="a new yarn")
    board.get_by_label("Name of the new yarn").fill("Half typed")
    stage = board.locator("#spot").bounding_box()
    board.mouse.click(stage["x"] + 0.65 * stage["width"], stage["y"] + 0.5 * stage["height"])
    expect(board.locator(".mark-card")).to_have_count(2)
    expect(board.get_by_label("Name of the new yarn").first).to_have_value("Half typed")
    added = photo.marks.last().box
    assert (added.left + added.right) / 2 == pytest.approx(0.65, abs=0.01)
    board.get_by_role("button", name="Remove box 2").click()
    expect(board.locator(".mark-card")).to_have_count(1)


def test_a_changed_choice_never_applies(board, photo):
    """The button of the refusal still has the focus when the choice is made."""
    with answered(board) as refusal:
        board.get_by_role("button", name="Put the colours on my yarns").click()
    assert refusal.value.status == 422
    expect(board.get_by_text("Say of one box at least")).to_be_visible()
    with answered(board) as answer:
        board.get_by_label("Yarn 1 is").select_option(label="a new yarn")
    assert answer.value.url.endswith("/marks/")
    assert Yarn.objects.count() == 1
    assert photo.marks.get().is_new


def test_what_is_changed_before_the_answer_is_kept(board, photo):
    """Marking paper draws the page anew; what was done meanwhile is on it, and saved."""
    held = []
    board.route("**/marks/", lambda route: held.append(route), times=1)
    board.get_by_label("white paper").check()
    board.wait_for_timeout(400)
    board.get_by_label("Yarn 1 is").select_option(label="a new yarn")
    board.get_by_label("Name of the new yarn").fill("Half typed")
    (first,) = held
    first.continue_()
    expect(board.locator(".mark.is-white")).to_be_visible()
    expect(board.get_by_label("Name of the new yarn")).to_have_value("Half typed")
    expect(board.get_by_label("Yarn 1 is")).to_have_value("new")
    board.wait_for_load_state("networkidle")
    board.wait_for_timeout(300)
    assert photo.marks.of_yarn().get().new_name == "Half typed"


def test_a_button_pressed_while_the_page_is_drawn_anew_need_not_be_pressed_again(board, photo):
    held, applied = [], []
    board.route("**/marks/", lambda route: held.append(route), times=1)
    board.on("request", lambda sent: applied.append(sent) if "/apply/" in sent.url else None)
    board.get_by_label("white paper").check()
    board.wait_for_timeout(400)
    board.get_by_label("Yarn 1 is").select_option(label="a new yarn")
    board.get_by_label("Name of the new yarn").fill("Late")
    board.get_by_role("button", name="Put the colours on my yarns").click()
    (first,) = held
    assert not applied
    first.continue_()
    expect(board.get_by_text("Late has its colour")).to_be_visible()
    board.wait_for_load_state("networkidle")
    assert len(applied) == 1
    assert photo.marks.of_yarn().get().yarn.name == "Late"


def test_a_press_on_the_photo_while_the_page_is_drawn_anew_adds_its_box(board, photo):
    held = []
    board.route("**/marks/", lambda route: held.append(route), times=1)
    board.get_by_label("white paper").check()
    board.wait_for_timeout(400)
    stage = board.locator("#spot").bounding_box()
    board.mouse.click(stage["x"] + 0.65 * stage["width"], stage["y"] + 0.4 * stage["height"])
    (first,) = held
    first.continue_()
    expect(board.locator(".mark-card")).to_have_count(2)
    added = photo.marks.of_yarn().last().box
    assert (added.left + added.right) / 2 == pytest.approx(0.65, abs=0.01)
    assert (added.top + added.bottom) / 2 == pytest.approx(0.4, abs=0.01)


def test_marking_paper_shows_daylight_and_a_box_to_drag(board, photo):
    board.get_by_label("white paper").check()
    white = board.locator(".mark.is-white .mark-body")
    expect(white).to_be_visible()
    expect(board.get_by_text("The light is even")).to_be_visible()
    expect(board.locator(".photo-views img")).to_have_count(2)
    with answered(board):
        drag(board, white, -0.5, 0)
    assert photo.marks.of_white().get().box.right < 0.6


def test_it_fits_a_phone_and_harms_nobody(board, photo):
    board.get_by_label("white paper").check()
    expect(board.locator(".mark.is-white")).to_be_visible()
    for summary in board.locator(".mark-place summary").all():
        summary.click()
    assert_accessible(board)
    assert_fits_a_phone(board)
    assert_accessible(board)
    choice = board.get_by_label("Yarn 1 is").bounding_box()
    assert choice["width"] > 0.8 * PHONE["width"]


def test_without_script_everything_can_be_done(browser, live_server, kit, photo, sign_in, context):
    sign_in(kit.user)
    plain = browser.new_context(java_script_enabled=False, storage_state=context.storage_state())
    page = plain.new_page()
    slug = photo.participant.knit_along.slug
    page.goto(live_server.url + reverse("palettes:photo", args=[slug, photo.pk]))
    page.locator("#spot").click(position={"x": 221, "y": 73})
    expect(page.locator(".mark-card")).to_have_count(2)
    page.get_by_label("white paper").check()
    page.get_by_role("button", name="Measure only").click()
    expect(page.get_by_text("The light is even")).to_be_visible()
    page.get_by_label("Yarn 2 is").select_option(label="a new yarn")
    page.get_by_label("Name of the new yarn").last.fill("Brick")
    page.get_by_role("button", name="Put the colours on my yarns").click()
    expect(page.get_by_text("Brick has its colour")).to_be_visible()
    assert Yarn.objects.get(name="Brick").is_pictured
    plain.close()


def test_a_refused_press_brings_its_reason_into_view(board):
    board.set_viewport_size(PHONE)
    board.locator("#apply-marks").scroll_into_view_if_needed()
    expect(board.locator("#marks-alert")).not_to_be_in_viewport()
    board.locator("#apply-marks").click()
    expect(board.locator("#marks-alert [role=alert]")).to_be_in_viewport()
