"""Pages in German, whose words are long, and from right to left, on a phone."""

from decimal import Decimal

import pytest
from django.urls import reverse

from kal.models import User
from schedule.models import LetterUse
from tests.browser.conftest import assert_accessible, assert_fits_a_phone
from tests.builders import make_clue, make_meeting, make_palette, make_yarn

PAGES = (
    "kal:prepare",
    "palettes:palette",
    "palettes:gallery",
    "palettes:pictures",
    "palettes:shortlist",
    "palettes:photos",
    "schedule:clues",
    "schedule:letters",
    "schedule:subscribe",
    "schedule:yarn",
    "schedule:yarn_needed",
    "kal:membership",
)
DESK = (
    "kal:desk",
    "kal:edit",
    "kal:people",
    "kal:codes",
    "kal:audit_log",
    "schedule:desk_clues",
    "schedule:letter_plan",
    "schedule:dry_run",
    "schedule:glossary",
    "schedule:notices",
    "schedule:desk_yarn",
    "schedule:desk_counts",
    "schedule:desk_pace",
    "kal:keeping",
)


@pytest.fixture
def harbour(knit_along, kit):
    """A knit-along with eight clues, two letters that meet, and a palette of five yarns."""
    for number in (1, *range(3, 9)):
        revision = make_clue(knit_along, number, title_is_secret=number > 1).revisions.get()
        LetterUse.objects.create(revision=revision, letter="A", grams=Decimal("30.5"))
    make_meeting(make_clue(knit_along, 2), "AB")
    palette = make_palette(kit)
    for number, lightness in enumerate((20, 35, 50, 70, 90)):
        make_yarn(palette, name=f"Garn {number}", lab_l=lightness, place="chosen")
    return knit_along


def pages_of(knit_along, names):
    return [reverse("kal:home"), reverse("kal:settings")] + [
        reverse(name, args=[knit_along.slug]) for name in names
    ]


@pytest.mark.parametrize("direction", ["ltr", "rtl"])
@pytest.mark.parametrize("names", [PAGES, DESK], ids=["participant", "desk"])
def test_long_words_and_either_direction_fit_a_phone(
    live_server, page, sign_in, harbour, kit, hana, names, direction
):
    person = (kit if names is PAGES else hana).user
    User.objects.filter(pk=person.pk).update(language="de")
    sign_in(person)
    for address in pages_of(harbour, names):
        page.goto(f"{live_server.url}{address}")
        assert page.evaluate("document.documentElement.lang") == "de"
        page.evaluate("way => { document.documentElement.dir = way }", direction)
        page.eval_on_selector_all("details", "all => all.forEach((one) => one.open = true)")
        assert_fits_a_phone(page)
        if direction == "ltr":
            assert_accessible(page)
