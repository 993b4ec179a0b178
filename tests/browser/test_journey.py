"""The whole job once, in a real browser: from an empty site to a clue read at its instant."""

import re
from datetime import datetime, timedelta
from io import BytesIO
from zoneinfo import ZoneInfo

import numpy as np
import pytest
import time_machine
from django.core import mail
from django.utils import timezone
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from kal.models import KnitAlong
from palettes.colour.difference import delta_e_2000
from palettes.colour.spaces import hex_to_lab
from palettes.models import Photo, Registration
from schedule.notices.sweep import sweep
from tests.browser.conftest import DESK, assert_accessible, assert_fits_a_phone
from tests.builders import make_user
from tests.smtp_sink import running_sink

ZONE = "Europe/Lisbon"
BODY = "## The hem\n\nCast on **9 stitches** in B, knit 12 ridges, ending with 57 stitches."
PICKED = "#1f4e79"
TYPED = ["#f3ead8", "#c9a227", "#8b2f39", "#3c3a36"]


def wall(moment: datetime) -> str:
    """Return a moment as a date and time box of the knit-along's zone takes it."""
    return moment.astimezone(ZoneInfo(ZONE)).strftime("%Y-%m-%dT%H:%M")


def photo_file() -> bytes:
    """Return a JPEG that lies on its side: a blue skein at the left, once it is upright."""
    upright = np.full((300, 400, 3), (214, 205, 190), dtype=np.uint8)
    upright[50:250, 40:180] = tuple(bytes.fromhex(PICKED[1:]))
    exif = Image.Exif()
    exif[0x0112] = 6  # turn a quarter to the right to stand upright
    exif[0x010F] = "A camera that tells"
    buffer = BytesIO()
    Image.fromarray(np.rot90(upright)).save(buffer, "JPEG", quality=95, exif=exif)
    return buffer.getvalue()


def open_new_window(browser: Browser, live_server) -> Page:
    context = browser.new_context(base_url=live_server.url, timezone_id=ZONE, viewport=DESK)
    return context.new_page()


def sign_in_by_mail(page: Page, address: str, name: str) -> None:
    page.goto("/sign-in/")
    page.get_by_label("Mail address").fill(address)
    page.get_by_role("button", name="Mail me a code").click()
    code = re.search(r"^ +([A-Z-]+)$", str(mail.outbox[-1].body), flags=re.MULTILINE)
    assert code
    page.get_by_label("Code").fill(code[1])
    page.get_by_role("button", name="Sign in").click()
    page.goto("/settings/")
    page.get_by_label("The name you go by").fill(name)
    page.get_by_role("button", name="Save").click()


def create_knit_along(page: Page, cast_on: datetime) -> None:
    page.goto("/new/")
    assert_accessible(page)
    page.get_by_label("Title").fill("Nets and Buoys")
    page.get_by_label("Theme").fill("A shawl of five colours, told in three clues.")
    page.get_by_label("Time zone").select_option(ZONE)
    page.get_by_label("Grams", exact=True).fill("100")
    page.get_by_label("Metres", exact=True).fill("400")
    page.get_by_label("Sign-up opens").fill(wall(cast_on - timedelta(days=2)))
    page.get_by_label("Sign-up closes").fill(wall(cast_on + timedelta(days=20)))
    page.get_by_label("Show its page to visitors").check()
    page.get_by_label("Cast-on").fill(wall(cast_on))
    page.get_by_label("Number of clues").fill("3")
    page.get_by_role("button", name="Create it").click()
    expect(page.get_by_role("heading", name="Schedule")).to_be_visible()
    assert_accessible(page)
    assert_fits_a_phone(page)
    page.set_viewport_size(DESK)


def write_clue(page: Page) -> None:
    page.goto("/k/nets-and-buoys/desk/clues/1/")
    page.get_by_label("Title", exact=False).first.fill("The first buoy")
    page.locator("textarea[name=body]").fill(BODY)
    page.get_by_role("button", name="Save").click()
    page.goto("/k/nets-and-buoys/desk/clues/")
    page.get_by_role("button", name=re.compile("^Mark ready.*clue 1$")).click()
    expect(page.get_by_role("button", name=re.compile("^Mark not ready.*clue 1$"))).to_be_visible()


def join(page: Page) -> None:
    page.goto("/k/nets-and-buoys/")
    page.get_by_role("link", name="Join", exact=True).click()
    page.get_by_label("gallery", exact=False).check()
    page.get_by_role("button", name="Join", exact=True).click()
    page.goto("/k/nets-and-buoys/prepare/")
    expect(page.get_by_text("100 g and 400 m").first).to_be_visible()
    assert_accessible(page)


def pick_from_photo(page: Page) -> None:
    page.goto("/k/nets-and-buoys/palette/photos/")
    page.locator("input[type=file]").set_input_files(
        {"name": "IMG_0042.jpg", "mimeType": "image/jpeg", "buffer": photo_file()}
    )
    page.get_by_role("button", name="Upload").click()
    card = page.locator(".mark-card").filter(has_text="Dark blue")
    expect(card).to_be_visible()
    assert_accessible(page)
    card.get_by_label("Yarn 1 is").select_option(label="a new yarn")
    card.get_by_label("Name of the new yarn").fill("Deep water")
    page.get_by_role("button", name="Put the colours on my yarns").click()
    expect(page.get_by_text("Deep water has its colour")).to_be_visible()


def enter_yarn(page: Page, name: str, colour: str) -> None:
    form = page.locator("form.add-yarn")
    if not form.is_visible():
        page.locator("#add-title").click()
    form.get_by_label("Yarn name").fill(name)
    form.get_by_label("Colour", exact=True).fill(colour)
    page.get_by_role("button", name="Add this yarn").click()
    expect(page.locator("#yarns strong", has_text=name)).to_be_visible()


def fill_in_the_ball_band(page: Page, name: str) -> None:
    """Each box saves itself when it is left; nothing is sent by a button."""
    page.get_by_role("link", name=f"Edit {name}").click()
    for label, value in (("Grams", "50"), ("Metres", "200"), ("Balls", "2")):
        page.locator(".yarn-editor").get_by_label(label, exact=False).fill(value)
        page.keyboard.press("Tab")


def build_palette(page: Page) -> None:
    page.goto("/k/nets-and-buoys/palette/")
    for number, colour in enumerate(TYPED, start=1):
        enter_yarn(page, f"Skein {number}", colour)
    fill_in_the_ball_band(page, "Skein 1")
    audit = page.locator("#audit")
    expect(audit).to_contain_text("100 g, 400 m")
    expect(audit).to_contain_text("From light to dark")
    expect(audit).to_contain_text("CIEDE2000")
    assert_accessible(page)
    page.get_by_role("button", name="Register my palette").click()
    expect(page.get_by_text("Registered", exact=False).first).to_be_visible()
    assert_fits_a_phone(page)
    page.set_viewport_size(DESK)


@pytest.fixture
def sink(settings):
    with running_sink() as sink:
        yield sink


def use_real_mail(settings, sink) -> None:
    settings.MAILERS = {
        "default": {
            "BACKEND": "django.core.mail.backends.smtp.EmailBackend",
            "OPTIONS": {"host": "127.0.0.1", "port": sink.port, "timeout": 5},
        }
    }


def test_from_an_empty_site_to_a_clue_at_its_instant(live_server, browser, db, settings, sink):
    make_user("Hana", email="hana@knitters.example", may_host=True)
    now = timezone.now()
    cast_on = (now + timedelta(minutes=40)).replace(second=0, microsecond=0)

    organiser = open_new_window(browser, live_server)
    sign_in_by_mail(organiser, "hana@knitters.example", "Hana")
    create_knit_along(organiser, cast_on)
    write_clue(organiser)
    knit_along = KnitAlong.objects.get()
    planned = list(knit_along.clues.values_list("release_at", flat=True))
    assert planned[0] == cast_on
    assert [p.astimezone(knit_along.tz).strftime("%H:%M") for p in planned] == [
        cast_on.astimezone(knit_along.tz).strftime("%H:%M")
    ] * 3

    knitter = open_new_window(browser, live_server)
    sign_in_by_mail(knitter, "kit@knitters.example", "Kit")
    join(knitter)
    pick_from_photo(knitter)
    build_palette(knitter)
    registration = Registration.objects.get()
    yarns = list(registration.yarns.filter(is_spare=False))
    assert len(yarns) == 5
    blue = next(yarn for yarn in yarns if yarn.name == "Deep water")
    assert delta_e_2000(blue.lab, hex_to_lab(PICKED)) < 2
    photo = Photo.objects.get()
    assert (photo.width, photo.height) == (400, 300)
    with photo.image.open() as file:
        assert b"A camera that tells" not in file.read()

    knitter.goto("/k/nets-and-buoys/gallery/")
    expect(knitter.get_by_text("Kit").last).to_be_visible()
    assert_accessible(knitter)

    use_real_mail(settings, sink)
    with time_machine.travel(cast_on - timedelta(seconds=1), tick=False):
        answer = knitter.goto("/k/nets-and-buoys/clues/1/")
        assert answer
        assert answer.status == 404
        knitter.goto("/k/nets-and-buoys/clues/")
        assert "The first buoy" not in knitter.content()
        assert sweep(clock=timezone.now).sent == 0
    with time_machine.travel(cast_on, tick=False):
        assert sweep(clock=timezone.now).sent == 2
        knitter.goto("/k/nets-and-buoys/clues/1/")
        expect(knitter.get_by_role("heading", name="The first buoy")).to_be_visible()
        expect(knitter.get_by_text("9 stitches")).to_be_visible()
        assert_accessible(knitter)
        assert_fits_a_phone(knitter)
    assert sorted(sink.told()) == ["hana@knitters.example", "kit@knitters.example"]
    told = next(m for m in sink.mails if m["To"] == "kit@knitters.example")
    assert told["Subject"] == "Clue 1 is out: The first buoy"
    assert told["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
