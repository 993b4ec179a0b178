"""Clue pages: what a participant finds before, at and after the instant."""

from datetime import timedelta

import pytest
import time_machine
from django.core.files.base import ContentFile

from kal.models import Role, User
from schedule.models import Attachment, LetterUse, Revision
from tests.builders import NOON, make_clue, make_participant
from tests.conftest import signed_in
from tests.pages import words

SECOND = timedelta(seconds=1)


def at(instant):
    return time_machine.travel(instant, tick=False)


def address(knit_along, number=1):
    return f"/k/{knit_along.slug}/clues/{number}/"


def attach(clue, content=b"%PDF-1.7 chart", **fields):
    defaults = {"kind": "pdf", "name": "chart.pdf", "content_type": "application/pdf"}
    file = Attachment(clue=clue, size=len(content), **(defaults | fields))
    file.file.save("", ContentFile(content), save=False)
    file.save()
    clue.revision.attachments.add(file)
    return file


def file_address(knit_along, file, number=1):
    return f"{address(knit_along, number)}files/{file.key}/"


@pytest.fixture(autouse=True)
def signed_in_today():
    """A session would have run out by then if it began at the machine's own time."""
    with at(NOON - timedelta(days=1)):
        yield


@pytest.fixture
def clue(knit_along):
    return make_clue(knit_along, body="# Border\n\nRow 1: knit **all**.")


def test_a_clue_is_readable_from_its_instant_and_not_a_second_before(clue, knit_along, as_kit):
    with at(NOON - SECOND):
        assert as_kit.get(address(knit_along)).status_code == 404
    with at(NOON):
        page = words(as_kit.get(address(knit_along)))
    assert "<h1>Clue title 1</h1>" in page
    assert "<h2>Border</h2>" in page
    assert "knit <strong>all</strong>" in page


@pytest.mark.parametrize("state", [{"ready_at": None}, {"is_held": True}])
def test_a_clue_not_ready_or_held_stays_hidden_after_its_instant(knit_along, as_kit, state):
    make_clue(knit_along, **state)
    with at(NOON + SECOND):
        assert as_kit.get(address(knit_along)).status_code == 404
        page = words(as_kit.get(f"/k/{knit_along.slug}/clues/"))
    assert "<strong>Late.</strong> It was due" in page
    assert "Clue title 1" not in page


@pytest.mark.parametrize(
    ("role", "status"), [(Role.ORGANISER, 200), (Role.CO_ORGANISER, 200), (Role.MODERATOR, 404)]
)
def test_organisers_and_co_organisers_read_early_and_moderators_do_not(
    clue, knit_along, role, status
):
    client = signed_in(make_participant(knit_along, "Mo", role).user)
    with at(NOON - SECOND):
        response = client.get(address(knit_along))
    assert response.status_code == status
    if status == 200:
        assert "You read this early" in words(response)
        assert response.headers["Cache-Control"] == "private, no-store"


def test_a_stranger_a_visitor_and_somebody_who_left_get_nothing(
    clue, knit_along, as_sam, client, kit, as_kit
):
    with at(NOON + SECOND):
        assert as_sam.get(address(knit_along)).status_code == 404
        assert client.get(address(knit_along)).headers["Location"].startswith("/sign-in/")
        kit.left_at = NOON
        kit.save()
        assert as_kit.get(address(knit_along)).status_code == 404


def test_a_hidden_clue_answers_as_one_that_does_not_exist(clue, knit_along, as_kit):
    file = attach(clue)
    with at(NOON - SECOND):
        for hidden, missing in (
            (address(knit_along), address(knit_along, 99)),
            (file_address(knit_along, file), file_address(knit_along, file, 99)),
        ):
            one, other = as_kit.get(hidden), as_kit.get(missing)
            assert one.status_code == other.status_code == 404
            assert one.headers["Cache-Control"] == "private, no-store"
            assert dict(one.headers) == dict(other.headers)


def test_the_wrong_method_is_refused_alike_for_hidden_and_missing(clue, knit_along, as_kit):
    with at(NOON - SECOND):
        for number in (1, 99):
            assert as_kit.post(address(knit_along, number)).status_code == 405


def test_the_list_gives_number_and_date_and_a_title_only_when_it_is_no_secret(knit_along, as_kit):
    make_clue(knit_along, 1, title="Harbour wall")
    make_clue(knit_along, 2, title="Open sea", title_is_secret=False)
    with at(NOON - SECOND):
        page = words(as_kit.get(f"/k/{knit_along.slug}/clues/"))
    assert "Harbour wall" not in page
    assert "Clue 2: Open sea" in page
    assert "Monday 1 March 2027, 12:00" in page
    assert address(knit_along, 2) not in page


def test_times_are_the_readers_with_the_organisers_beside_them(clue, knit_along):
    reader = make_participant(knit_along, "Rin")
    User.objects.filter(pk=reader.user_id).update(zone="Asia/Tokyo")
    with at(NOON):
        page = words(signed_in(reader.user).get(address(knit_along)))
    assert "Monday 1 March 2027, 21:00" in page
    assert "(Monday 12:00 in Europe/Lisbon)" in page


def test_a_reader_in_the_organisers_zone_sees_one_time(clue, knit_along, kit, as_kit):
    User.objects.filter(pk=kit.user_id).update(zone=knit_along.zone)
    with at(NOON):
        assert "in Europe/Lisbon)" not in words(as_kit.get(address(knit_along)))


@pytest.mark.parametrize(("units", "weight"), [("metric", "28.3 g"), ("imperial", "1 oz")])
def test_grams_are_shown_in_the_readers_units(clue, knit_along, kit, as_kit, units, weight):
    """One ounce is 28.349523125 g (NIST Handbook 44, appendix C)."""
    LetterUse.objects.create(revision=clue.revision, letter="A", grams="28.3")
    User.objects.filter(pk=kit.user_id).update(units=units)
    with at(NOON):
        page = words(as_kit.get(address(knit_along)))
    assert weight in page


def test_a_pdf_is_a_download_that_nobody_sniffs(clue, knit_along, as_kit):
    file = attach(clue, name="clue one.pdf")
    with at(NOON):
        response = as_kit.get(file_address(knit_along, file))
    assert response.content == b"%PDF-1.7 chart"
    named = "attachment; filename*=utf-8''clue%20one.pdf"  # RFC 8187, 3.2
    assert response.headers["Content-Disposition"] == named
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    assert response.headers["Cache-Control"] == "private, max-age=3600"
    assert "Last-Modified" not in response.headers


def test_an_image_named_in_the_text_is_shown_there_and_others_below(knit_along, as_kit):
    clue = make_clue(
        knit_along, body="Before\n\n![](edge.webp)\n\nAfter ![](https://x.example/y.png)"
    )
    images = {"kind": "image", "content_type": "image/webp"}
    edge = attach(clue, b"RIFF", name="edge.webp", alt="The edge", **images)
    other = attach(clue, b"RIFF", name="other.webp", alt="The middle", **images)
    with at(NOON):
        page = words(as_kit.get(address(knit_along)))
    assert page.count(f'<img src="{file_address(knit_along, edge)}" alt="The edge"') == 1
    assert page.count(f'<img src="{file_address(knit_along, other)}" alt="The middle"') == 1
    assert page.index("The edge") < page.index("After") < page.index("The middle")
    assert 'src="https://x.example' not in page


def test_a_file_that_the_newest_revision_dropped_is_gone(clue, knit_along, as_kit):
    file = attach(clue)
    Revision.objects.create(clue=clue, number=2, body="Anew", note="No chart", saved_at=NOON)
    with at(NOON + SECOND):
        assert as_kit.get(file_address(knit_along, file)).status_code == 404


def test_a_file_answers_only_under_its_own_clue(clue, knit_along, as_kit):
    make_clue(knit_along, 2)
    file = attach(clue)
    with at(NOON + timedelta(days=8)):
        assert as_kit.get(file_address(knit_along, file, 2)).status_code == 404


def test_errata_are_shown_with_the_mended_text(clue, knit_along, as_kit):
    Revision.objects.create(
        clue=clue, number=2, body="Row 1: purl.", note="Row 1 is purled.", saved_at=NOON
    )
    with at(NOON + SECOND):
        page = words(as_kit.get(address(knit_along)))
    assert "Put right since it came out" in page
    assert "Row 1 is purled." in page
    assert "Row 1: purl." in page
    assert "knit <strong>all" not in page


def test_neighbours_are_linked_only_once_they_are_out(knit_along, as_kit):
    for number in (1, 2, 3):
        make_clue(knit_along, number)
    with at(NOON + timedelta(days=7)):
        page = words(as_kit.get(address(knit_along, 2)))
    assert f'<a href="{address(knit_along, 1)}" rel="prev">' in page
    assert address(knit_along, 3) not in page


def test_hands_are_thought_of(clue, knit_along, as_kit):
    with at(NOON):
        assert "a doctor or physiotherapist" in words(as_kit.get(address(knit_along)))


def test_a_clue_page_asks_the_database_four_times(
    clue, knit_along, as_kit, django_assert_num_queries
):
    """Session, user, membership with its knit-along, and the clues; the rest is remembered.

    The list asks for changes of the schedule as well.
    """
    with at(NOON):
        as_kit.get(address(knit_along))
        with django_assert_num_queries(4):
            as_kit.get(address(knit_along))
        with django_assert_num_queries(5):
            as_kit.get(f"/k/{knit_along.slug}/clues/")
