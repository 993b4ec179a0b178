"""An archived knit-along is read as before, and nothing that is sent changes a row of it."""

from datetime import timedelta

import pytest
import time_machine
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.test import Client
from django.urls import reverse

from kal.actions.knit_alongs import close_palettes
from kal.errors import Archived
from kal.models import AuditEntry, KnitAlong, Participant
from palettes.models import KitMaker
from schedule import stamped
from schedule.actions import queue_messages
from schedule.actions.archive import archive_knit_along
from schedule.actions.feed_keys import renew_feed_key
from schedule.errors import NotOver
from schedule.models import Attachment, Notice
from schedule.notices.ledger import announce_due
from tests.builders import NOON, make_clue, make_participant, make_registration
from tests.commands.test_backup import all_rows
from tests.conftest import signed_in
from tests.embargo.routes import all_routes

LONG_AFTER = NOON + timedelta(days=400)
# What people may do there for good: it is about them, or makes the archive what it is.
ALLOWED = {
    "kal:archive",
    "kal:clone",
    "kal:keeping",
    "kal:leave",
    "kal:membership",
    "schedule:stop_feeds",
    "schedule:unsubscribe",
}
# Counts of their own that are no part of the knit-along.
ELSEWHERE = ("kal.user", "account.emailaddress")


@pytest.fixture
def archived(knit_along, hana, kit):
    """Long over and archived, with a palette, a clue and people of each kind."""
    make_registration(kit)
    make_clue(knit_along, announced_at=NOON)
    archive_knit_along(knit_along, by=hana.user, now=LONG_AFTER)
    knit_along.refresh_from_db()
    return knit_along


def filled(argument: str) -> object:
    """A value for any argument: in the archive none is looked at."""
    numbers = {"pk", "number", "revision"}
    if argument in numbers:
        return 1
    return "0" * 8 + "-0000-4000-8000-" + "0" * 12 if "key" in argument else "x"


def addresses(slug: str) -> dict[str, str]:
    found = {}
    for route in all_routes():
        if "slug" not in route.arguments or route.name in ALLOWED:
            continue
        arguments = {name: filled(name) for name in route.arguments} | {"slug": slug}
        found[route.name] = reverse(route.name, kwargs=arguments)
    return found


def test_nothing_that_is_sent_changes_anything(archived, hana, kit, sam):
    maker = KitMaker.objects.create(
        knit_along=archived, email="dyer@knitters.example", name="Dye Works", invited_at=NOON
    )
    dyer = make_participant(archived, "Dyer", left_at=NOON).user
    type(dyer).objects.filter(pk=dyer.pk).update(email=maker.email)
    people = [hana.user, kit.user, sam, type(dyer).objects.get(pk=dyer.pk)]
    visitor = Client()
    clients = [visitor, *map(signed_in, people)]
    before, refused = all_rows(), set()
    for name, address in addresses(archived.slug).items():
        for client in clients:
            answer = client.post(address, {"name": "x", "title": "x", "reason": "x", "open": "yes"})
            handed_back = {403} if client is visitor else set()
            expected = {302, 404, 405, 409, 422} | handed_back
            assert answer.status_code in expected, (name, answer.status_code)
            if answer.status_code == 409:
                assert "is archived: everything can be read, nothing changed" in answer.text
                refused.add(name)
    assert all_rows() == before
    assert len(refused) > 40


@time_machine.travel(LONG_AFTER)
def test_everything_can_still_be_read(archived, kit, hana):
    as_kit, as_hana = signed_in(kit.user), signed_in(hana.user)
    base = archived.get_absolute_url()
    for path in ("", "palette/", "gallery/", "clues/", "clues/1/", "membership/"):
        page = as_kit.get(base + path)
        assert page.status_code == 200, path
        assert "Archived: everything can be read" in page.text
    for path in ("desk/", "desk/people/", "desk/clues/", "desk/keeping/"):
        assert as_hana.get(base + path).status_code == 200, path


def test_htmx_is_told_to_show_the_page_anew(archived, as_hana):
    address = reverse("kal:palettes_switch", args=[archived.slug])
    answer = as_hana.post(address, {"open": "yes"}, headers={"HX-Request": "true"})
    assert (answer.status_code, answer.headers["HX-Refresh"]) == (409, "true")


def test_an_act_that_is_reached_otherwise_is_refused_and_undone(archived, hana):
    with pytest.raises(Archived, match="nothing in it is changed"):
        close_palettes(archived, by=hana.user, now=LONG_AFTER)
    archived.refresh_from_db()
    assert archived.palettes_closed_at is None


def test_people_still_leave_and_stop_their_mail(archived, kit, as_kit):
    as_kit.post(reverse("kal:membership", args=[archived.slug]), {"shows_palette": "on"})
    kit.refresh_from_db()
    assert (kit.shows_palette, kit.wants_notices) == (True, False)
    assert as_kit.post(reverse("kal:leave", args=[archived.slug])).status_code == 302
    assert not Participant.objects.active().filter(pk=kit.pk).exists()


def test_nobody_joins(archived, as_sam):
    address = reverse("kal:join", args=[archived.slug])
    assert "nobody can join it any more" in as_sam.get(address).text
    assert as_sam.post(address, {}).status_code == 422


def test_it_is_light(knit_along, hana, kit, client, django_capture_on_commit_callbacks):
    """Copies with names on them go, feeds rest, and the worker passes it by."""
    clue = make_clue(knit_along)
    attachment = Attachment.objects.create(
        clue=clue, kind="pdf", name="a.pdf", size=1, file="clues/a"
    )
    copy = stamped.copy_path(attachment.key, kit)
    default_storage.save(copy, ContentFile(b"x"))
    key = renew_feed_key(kit, now=NOON)
    feed = reverse("schedule:calendar_feed", args=[knit_along.slug, key.token])
    assert client.get(feed).status_code == 200
    with django_capture_on_commit_callbacks(execute=True):
        archive_knit_along(knit_along, by=hana.user, now=LONG_AFTER)
    assert not default_storage.exists(copy)
    assert client.get(feed).status_code == 404
    assert announce_due(LONG_AFTER) == 0
    assert not Notice.objects.exists()


def test_and_back(archived, hana, as_hana, client, kit):
    key = renew_feed_key(kit, now=NOON)
    feed = reverse("schedule:calendar_feed", args=[archived.slug, key.token])
    as_hana.post(reverse("kal:archive", args=[archived.slug]), {"archived": "no"})
    archived.refresh_from_db()
    assert archived.archived_at is None
    assert client.get(feed).status_code == 200
    close_palettes(archived, by=hana.user, now=LONG_AFTER)
    acts = AuditEntry.objects.order_by("pk").values_list("act", flat=True)
    assert [*acts] == ["archived it", "took it out of the archive", "closed the palettes"]


def test_it_is_archived_from_the_desk_by_an_organiser_alone(knit_along, hana, as_hana, as_kit):
    KnitAlong.objects.update(cast_on_at=NOON)
    address = reverse("kal:archive", args=[knit_along.slug])
    assert as_kit.post(address, {"archived": "yes"}).status_code == 404
    assert "It is archived" in as_hana.post(address, {"archived": "yes"}, follow=True).text
    knit_along.refresh_from_db()
    assert knit_along.archived_at


def test_not_before_all_is_out_and_told(knit_along, hana, kit, as_hana):
    make_clue(knit_along)
    with pytest.raises(NotOver, match="Clue 1 is not out"):
        archive_knit_along(knit_along, by=hana.user, now=NOON - timedelta(seconds=1))
    queue_messages(
        knit_along,
        kind="palette-note",
        subject="A word",
        body="To you.",
        recipients=[kit],
        by=hana.user,
        now=NOON,
    )
    with pytest.raises(NotOver, match="1 mail is still to be sent"):
        archive_knit_along(knit_along, by=hana.user, now=LONG_AFTER)
