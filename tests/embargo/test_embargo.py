"""A clue cannot be had early: every reader tries every address, every way, around the instant."""

import re
from datetime import timedelta
from itertools import product

import pytest
from django.core import mail
from django.core.cache import cache
from django.core.management import call_command
from django.db import transaction

from kal.models import Participant, User
from schedule.changes import Ask, Change
from schedule.models import (
    Attachment,
    Clue,
    CountedPart,
    GlossaryEntry,
    LetterUse,
    Notice,
    PlanOpening,
    Post,
    Question,
    Revision,
    WeighIn,
)
from tests.builders import NOON, make_registration
from tests.changing import make_change
from tests.embargo.answers import WAYS, Answer, answer_of, ask
from tests.embargo.conftest import FILE_BYTES
from tests.embargo.routes import Fillers, Route, all_routes

SECOND = timedelta(seconds=1)
SIZE = str(FILE_BYTES).encode()
READERS = ("participant", "moderator", "somebody who left", "stranger", "visitor")
GUESSES = (
    "/clues/",
    "/media/",
    "/private/clues/",
    "/static/../data/private/clues/",
    "/k/{slug}/clues",
    "/k/{slug}/clues/1",
    "/k/{slug}/clues/01/",
    "/k/{slug}/clues/1.json",
    "/k/{slug}/clues/?number=1",
    "/k/{slug}/clues/?early=1",
    "/k/{slug}/?clue=1",
    "/k/{slug}/gallery/?q=canary",
    "/api/",
    "/admin/",
)


@pytest.fixture
def addresses(world):
    found = [address for route in all_routes() for address in route.addresses(world.fillers)]
    stored = [f"/{file.file.name}" for file in Attachment.objects.all()]
    guesses = [guess.format(slug=world.knit_along.slug) for guess in GUESSES]
    return [*found, *guesses, *stored, *(f"/media{name}" for name in stored)]


def leaks(world, reader, addresses, numbers, ways=tuple(WAYS)):
    """Every secret of the clues in `numbers` that the reader finds, and where."""
    client = world.readers[reader]
    secrets = [secret for number in numbers for secret in world.secrets[number].all]
    return {
        (address.partition("?")[0], secret.decode())
        for address in addresses
        for way in ways
        for secret in ask(client, way, address).finds(secrets)
    }


@pytest.mark.parametrize(
    ("text", "is_found"),
    [
        (b"Content-Length: %s\n", True),
        (b'{"bytes":%s}', True),
        (b"c9791-c05391b%s/show/", False),  # the end of a random key
    ],
)
def test_a_size_is_found_where_it_stands_alone(text, is_found):
    assert Answer(200, text % SIZE).holds(SIZE) is is_found


@pytest.mark.parametrize("reader", READERS)
def test_nothing_of_a_hidden_clue_is_in_any_answer(world, addresses, reader):
    assert leaks(world, reader, addresses, (1, 2, 3)) == set()


@pytest.mark.parametrize("reader", READERS)
def test_nothing_of_a_hidden_clue_is_in_the_answer_to_any_post(world, addresses, reader):
    client = world.readers[reader]
    secrets = [secret for number in (1, 2, 3) for secret in world.secrets[number].all]
    for address in addresses:
        assert posted(client, address).finds(secrets) == [], address


def posted(client, address) -> Answer:
    """Post nothing, and undo whatever that did."""
    with transaction.atomic():
        answer = answer_of(client.post(address))
        transaction.set_rollback(True)
    return answer


@pytest.mark.parametrize("reader", ["participant", "moderator"])
def test_all_of_it_is_found_one_second_after_and_of_the_late_clues_still_nothing(
    world, addresses, clock, reader
):
    clock.move_to(NOON + SECOND)
    slug, secret = world.knit_along.slug, world.secrets[1]
    client = world.readers[reader]
    page = ask(client, "GET", f"/k/{slug}/clues/1/")
    for text in secret.on_its_page:
        assert page.holds(text.encode()), text
    assert ask(client, "GET", f"/k/{slug}/clues/").holds(secret.title.encode())
    newest = Revision.objects.filter(clue__number=1).latest("number")
    for file in newest.attachments.all():
        answer = ask(client, "GET", f"/k/{slug}/clues/1/files/{file.key}/")
        for text in (secret.content, secret.file_name, secret.size):
            assert answer.holds(text.encode()), text
    dropped = Attachment.objects.filter(clue__number=1).earliest("pk")
    assert ask(client, "GET", f"/k/{slug}/clues/1/files/{dropped.key}/").status == 404
    late = leaks(world, reader, addresses, (2, 3), ways=("GET",))
    assert {text for _, text in late} <= secret.sizes  # all files of this test have one size


@pytest.mark.parametrize("reader", ["somebody who left", "stranger", "visitor"])
def test_those_outside_find_no_more_than_its_title_after_it(world, addresses, clock, reader):
    clock.move_to(NOON + SECOND)
    public_page = world.knit_along.get_absolute_url()
    found = leaks(world, reader, addresses, (1, 2, 3), ways=("GET",))
    # Whoever has got hold of Kit's secret address reads the title there too, as its page says.
    feeds = [f"{public_page}feed/{world.feed_token}/clues.{kind}" for kind in ("ics", "atom")]
    assert found == {(address, "canarytitle1") for address in (public_page, *feeds)}


@pytest.mark.parametrize("reader", READERS)
def test_a_hidden_clue_answers_byte_for_byte_as_one_that_does_not_exist(world, reader):
    client = world.readers[reader]
    numbered = [route for route in all_routes() if "number" in route.arguments]
    assert {"schedule:clue", "schedule:attachment"} <= {route.name for route in numbered}
    for route, way in product(numbered, WAYS):
        for arguments in hidden_arguments(route, world.fillers):
            hidden = ask(client, way, address_of(route, arguments))
            missing = ask(client, way, address_of(route, arguments | {"number": 99}))
            assert nameless(hidden) == nameless(missing), (way, arguments)


def hidden_arguments(route: Route, fillers: Fillers) -> list[dict[str, object]]:
    """Return the route's arguments for each hidden clue: its own, and any for the others.

    One that no filler knows fails here, as everywhere.
    """
    found = []
    for clue in Clue.objects.filter(number__in=(1, 2, 3)):
        key = clue.attachments.latest("pk").key
        own: Fillers = {"number": [clue.number], "key": [key], "revision": [2]}
        found.append(route.first_arguments({**fillers, **own}))
    return found


def address_of(route: Route, arguments: dict[str, object]) -> str:
    (address,) = route.addresses({name: [value] for name, value in arguments.items()})
    return address


def nameless(answer: Answer) -> tuple[int, bytes]:
    """An answer without the number that was asked for, as a way back after signing in has it."""
    masked = re.sub(rb"(clues|history|dry-run)(/|%2F)\d+(?=/|%2F)", rb"\1\2N", answer.everything)
    return answer.status, masked


@pytest.mark.parametrize("reader", READERS)
def test_no_answer_depends_on_what_is_hidden(world, addresses, reader):
    """Take text, titles, files, sizes, counts and states away, and nobody sees a difference."""
    client = world.readers[reader]
    before = [ask(client, "GET", address) for address in addresses]
    Revision.objects.all().delete()
    Attachment.objects.all().delete()
    GlossaryEntry.objects.all().delete()
    Post.objects.all().delete()
    Question.objects.all().delete()
    Clue.objects.update(title="", ready_at=None, is_held=False)
    after = [ask(client, "GET", address) for address in addresses]
    differing = [
        address
        for address, first, second in zip(addresses, before, after, strict=True)
        if first != second
    ]
    assert differing == []


@pytest.mark.parametrize("reader", ["participant", "moderator"])
def test_an_open_letter_plan_tells_letters_and_nothing_else_of_a_hidden_clue(
    world, addresses, clock, reader
):
    people = {"participant": "Kit", "moderator": "Mo"}
    person = world.knit_along.participants.get(user__name=people[reader])
    make_registration(person)
    PlanOpening.objects.create(knit_along=world.knit_along, opens_at=NOON - SECOND)
    about = [address for address in addresses if "/letters/" in address or "/colours/" in address]
    assert leaks(world, reader, about, (1, 2, 3)) == set()
    address = f"/k/{world.knit_along.slug}/letters/"
    page = ask(world.readers[reader], "GET", address)
    assert page.holds(b"Where two colours meet")
    assert not page.holds(b"Clue 1")
    clock.move_to(NOON)
    later = ask(world.readers[reader], "GET", address)
    assert later.holds(world.secrets[1].technique.encode())
    assert later.finds(world.secrets[2].all) == []


def test_no_mail_tells_anything_early(world, clock):
    call_command("send_notices", verbosity=0)
    alerts = list(mail.outbox)
    assert [message.subject for message in alerts] == ["Clue 2 is late: it is not ready"]
    assert alerts[0].to == [User.objects.get(name="Hana").email]
    clock.move_to(NOON + SECOND)
    call_command("send_notices", verbosity=0)
    news = [message for message in mail.outbox if message not in alerts]
    assert {message.subject for message in news} == {"Clue 1 is out: canarytitle1"}
    text = "".join(str(message.message()) for message in mail.outbox)
    assert "canarytitle2" not in text
    assert "canarytitle3" not in text
    assert "canarybody" not in text


@pytest.mark.parametrize(
    "change", [Change(Ask.SHIFT, 3, days=3), Change(Ask.HOLD, 1), Change(Ask.REMOVE, 1)]
)
def test_a_change_of_the_schedule_tells_nothing_of_what_is_in_a_clue(
    world, addresses, clock, change
):
    """Neither by mail, alerts to the hosts included, nor by page or feed."""
    hana = Participant.objects.get(user__name="Hana")
    now = NOON - timedelta(hours=20)
    make_change(world.knit_along, change, by=hana.user, now=now, tells=True)
    call_command("send_notices", verbosity=0)
    kinds = set(Notice.objects.values_list("kind", flat=True))
    assert kinds == {"schedule-change", "alert"}
    sent = "".join(str(message.message()) for message in mail.outbox)
    assert f"Clue {change.number}" in sent
    assert "canary" not in sent
    told = [address for address in addresses if "/clues" in address and "desk" not in address]
    for reader in READERS:
        assert leaks(world, reader, told, (1, 2, 3), ways=("GET", "GET a fragment")) == set()


def test_where_a_file_is_stored_says_nothing(world):
    for file in Attachment.objects.all():
        assert re.fullmatch(r"clues/[0-9a-f]{32}", str(file.file.name))


def test_an_argument_without_a_filler_fails(world):
    unknown = Route("schedule:clue", ("slug", "number", "chapter"))
    with pytest.raises(AssertionError, match="has no filler"):
        list(unknown.addresses(world.fillers))
    with pytest.raises(AssertionError, match="has no filler"):
        hidden_arguments(unknown, world.fillers)


def test_no_answer_carries_a_time_stamp_and_only_files_a_tag_which_is_random(
    world, addresses, clock
):
    clock.move_to(NOON + SECOND)
    random = {f'\nETag: "{file.key.hex}"'.encode() for file in Attachment.objects.all()}
    for reader in READERS:
        for address in addresses:
            if "/clues/" in address:
                answer = ask(world.readers[reader], "GET", address)
                tags = set(re.findall(rb"\nETag: .*", answer.everything))
                assert tags <= (random if "/files/" in address else set()), address
                assert not answer.holds(b"\nLast-Modified:"), address


@pytest.mark.parametrize("reader", ["participant", "moderator"])
def test_yarn_pages_tell_no_more_of_hidden_clues_than_what_is_asked_for(world, clock, reader):
    """A weigh-in of an early reader, and grams and rows of hidden clues, change not a byte."""
    client, slug = world.readers[reader], world.knit_along.slug
    pages = [f"/k/{slug}/yarn/{page}" for page in ("", "needed/", "pace/")]
    clock.move_to(NOON + SECOND)
    edda = world.knit_along.participants.get(user__name="Co")
    hidden = world.knit_along.clues.get(number=2)
    first = world.knit_along.clues.get(number=1)
    LetterUse.objects.filter(revision__clue=first).update(grams=20)
    before = [ask(client, "GET", page) for page in pages]
    for _ in range(3):
        WeighIn.objects.create(
            participant=edda, letter="B", clue=hidden, left=60, bought=100, at=NOON
        )
    LetterUse.objects.filter(revision__clue=hidden).delete()
    CountedPart.objects.filter(section__revision__clue=hidden).delete()
    cache.clear()
    assert [ask(client, "GET", page) for page in pages] == before
    for page in pages:
        assert leaks(world, reader, [page], (2, 3)) == set()
