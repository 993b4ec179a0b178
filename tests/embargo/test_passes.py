"""No pass for a file is given before its clue is out, to anybody but its reader, or on a page."""

import re
from datetime import timedelta

import pytest
from django.core import mail
from django.core.management import call_command

from kal.models import Participant, User
from schedule.models import Attachment, Clue
from schedule.passes import NAME, sign
from schedule.stamped import copy_name
from tests.builders import NOON
from tests.conftest import signed_in
from tests.embargo.answers import WAYS, ask
from tests.embargo.test_embargo import READERS, addresses

__all__ = ["addresses"]
SECOND = timedelta(seconds=1)
PASS = re.compile(rf"^{NAME}=(\S+); .*Path=([^;]+)".encode(), re.MULTILINE)
INSIDERS = {"participant": "Kit", "moderator": "Mo", "kit maker": "Dora"}
EARLY = {"organiser": "Hana", "co-organiser": "Co"}


@pytest.fixture(autouse=True)
def signing(settings):
    settings.NGINX_FILES = "/private/"
    settings.NGINX_SECRET = "0123456789abcdef" * 4


def client_of(world, reader):
    if reader in EARLY:
        return signed_in(User.objects.get(name=EARLY[reader]))
    return world.readers[reader]


def about_clues(addresses):
    return [address for address in addresses if "/clues/" in address and "/desk/" not in address]


def given(client, addresses):
    """Every pass that any answer holds, with the address it is for."""
    found = set()
    for address in addresses:
        for way in WAYS if address in about_clues([address]) else ("GET",):
            answer = ask(client, way, address)
            passes = PASS.findall(answer.everything)
            # Nowhere but in a cookie's header: a page may be shared, kept or passed on.
            assert answer.everything.count(NAME.encode()) == len(passes), address
            found |= {(value.decode(), path.decode()) for value, path in passes}
    return found


@pytest.mark.parametrize("reader", [*READERS, *EARLY])
def test_nobody_is_given_a_pass_before_the_instant(world, addresses, reader):
    """Early readers neither: they may read it, but it is not out."""
    tried = addresses if reader in ("participant", "co-organiser") else about_clues(addresses)
    assert given(client_of(world, reader), tried) == set()


@pytest.mark.parametrize("reader", [*INSIDERS, *EARLY])
def test_one_second_after_each_is_given_their_own_for_the_files_of_that_clue(
    world, addresses, clock, reader
):
    clock.move_to(NOON + SECOND)
    person = Participant.objects.get(user__name=(INSIDERS | EARLY)[reader])
    client, clue = client_of(world, reader), Clue.objects.get(number=1)
    files = clue.attachments.filter(kind="pdf")
    shown = files.filter(pk__in=Attachment.objects.in_newest_revision())
    expected = set()
    for file in files if person.reads_early else shown:
        address = f"/k/{world.knit_along.slug}/clues/1/files/{file.key}/"
        ends = int((NOON + SECOND + timedelta(minutes=5)).timestamp())
        session = client.cookies["sessionid"].value
        value = sign(session, address, file.name, copy_name(file.key, person), ends)
        expected.add((value, address))
    assert shown
    assert given(client, about_clues(addresses)) == expected


@pytest.mark.parametrize("reader", ["somebody who left", "stranger", "visitor"])
def test_those_outside_are_never_given_one(world, addresses, clock, reader):
    clock.move_to(NOON + SECOND)
    assert given(client_of(world, reader), about_clues(addresses)) == set()


def test_neither_mail_nor_a_feed_has_one(world, clock):
    clock.move_to(NOON + SECOND)
    call_command("send_notices", verbosity=0)
    assert mail.outbox
    assert NAME not in "".join(str(message.message()) for message in mail.outbox)
    public_page = world.knit_along.get_absolute_url()
    feeds = [f"{public_page}feed/{world.feed_token}/clues.{kind}" for kind in ("ics", "atom")]
    assert given(world.readers["participant"], feeds) == set()


@pytest.mark.parametrize(
    "way_out",
    [{"release_at": NOON + timedelta(days=9)}, {"is_held": True}, {"ready_at": None}],
)
def test_a_clue_that_is_taken_back_gives_no_more(world, addresses, clock, way_out):
    clock.move_to(NOON + SECOND)
    about = [address for address in addresses if "/clues/1/" in address]
    assert given(world.readers["participant"], about)
    Clue.objects.filter(number=1).update(**way_out)
    assert given(world.readers["participant"], about) == set()


def test_a_pass_that_is_given_too_soon_is_found(world, addresses, monkeypatch):
    """Else the tests above prove nothing."""
    about = about_clues(addresses)
    with monkeypatch.context() as patch:
        patch.setattr(Clue, "is_out", lambda clue, now: True)
        assert given(world.readers["participant"], about)
        assert given(client_of(world, "co-organiser"), about)
    assert given(world.readers["participant"], about) == set()
