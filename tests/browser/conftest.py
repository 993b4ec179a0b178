"""What a browser journey needs: Debian's chromium, accessibility checks, a phone's width."""

import os
import shutil

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings as django_settings
from django.core.cache import cache
from django.test import Client
from playwright.sync_api import ViewportSize

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
# The browser itself looks up its maker's hosts at every start unless told not to.
LAUNCH_ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    # What the pages answer with unless a journey asks for another: the source's own English.
    "--accept-lang=en",
]
PHONE: ViewportSize = {"width": 390, "height": 844}
# WCAG 2.2, 1.4.10: a desktop page at 400 % is this wide.
NARROWEST: ViewportSize = {"width": 320, "height": 640}
# axe-core leaves the rule of WCAG 2.2 on the size of targets (2.5.8) out unless asked.
AXE = {"rules": {"target-size": {"enabled": True}}}
DESK: ViewportSize = {"width": 1280, "height": 900}


def pytest_collection_modifyitems(items):
    """Mark every journey; skip them where there is no browser, except in CI, where that fails."""
    for item in items:
        if "tests/browser/" not in item.nodeid:
            continue
        item.add_marker(pytest.mark.browser)
        if CHROMIUM is None and not os.environ.get("CI"):
            item.add_marker(pytest.mark.skip(reason="Debian's chromium is not installed"))


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args):
    return browser_type_launch_args | {"executable_path": CHROMIUM, "args": LAUNCH_ARGS}


@pytest.fixture(scope="session")
def base_url():
    """Replace the plugin's own fixture, which the newest pytest warns about."""
    return None


@pytest.fixture(scope="session", autouse=True)
def browser_may_touch_the_database():
    """Playwright's event loop makes Django see an async context; these tests are synchronous.

    For the session, since the test database may be made after the browser has started.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        yield


@pytest.fixture(autouse=True)
def no_counts_left_behind(transactional_db):
    """Sign-in limits are counted in a table that no model owns, so no flush empties it."""
    yield
    cache.clear()


@pytest.fixture
def sign_in_to(live_server):
    """Return a function that signs a person in to a browser context without the mailed code."""

    def sign_in_as(context, user) -> None:
        client = Client()
        client.force_login(user)
        cookie = client.cookies[django_settings.SESSION_COOKIE_NAME]
        context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])

    return sign_in_as


@pytest.fixture
def sign_in(sign_in_to, context):
    """Return a function that signs a person in to the test's own browser context."""
    return lambda user: sign_in_to(context, user)


def assert_accessible(page) -> None:
    """Fail on anything axe-core calls serious or critical, naming the rule and the element."""
    violations = Axe().run(page, options=AXE).response["violations"]
    grave = [
        f"{violation['id']} ({violation['impact']}): {node['html'][:160]}"
        for violation in violations
        if violation["impact"] in {"serious", "critical"}
        for node in violation["nodes"]
    ]
    assert not grave, f"{page.url}\n" + "\n".join(grave)


def assert_fits_a_phone(page) -> None:
    """Fail when the page can be scrolled sideways in the narrowest of windows or on a phone."""
    for size in (NARROWEST, PHONE):
        assert_fits(page, size)


def assert_fits(page, size: ViewportSize) -> None:
    """Fail when the page can be scrolled sideways in a window of this size, which it keeps."""
    page.set_viewport_size(size)
    width = page.evaluate("document.documentElement.scrollWidth")
    assert width <= size["width"], f"{page.url} is {width} px wide in {size['width']} px"
