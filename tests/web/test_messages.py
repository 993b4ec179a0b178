"""Messages by mail: an organiser's own words to one participant or to many, through the ledger."""

from datetime import timedelta

import pytest
import time_machine
from django.core import mail
from django.core.mail import EmailMultiAlternatives
from django.utils import timezone
from django.utils.html import escape
from django_tasks_db.models import DBTaskResult

from kal.models import Participant, Role, User
from schedule.actions import queue_messages
from schedule.models import Message, Notice
from schedule.notices.kinds import KINDS, UnknownKind
from schedule.notices.sweep import sweep
from tests.builders import NOON, make_clue, make_knit_along, make_participant, make_user
from tests.pages import words


@pytest.fixture(autouse=True)
def clock(settings):
    settings.BASE_URL = "https://knits.example"
    settings.MAIL_CONNECTIONS = 1  # so that mails come in the order of the ledger
    with time_machine.travel(NOON, tick=False) as traveller:
        yield traveller


def queue(knit_along, recipients, **words):
    defaults = {
        "kind": "palette-note",
        "subject": "Your yarns in clue 3",
        "body": "A and B are close.",
        "by": None,
        "now": timezone.now(),
    }
    return queue_messages(knit_along, recipients=recipients, **(defaults | words))


def swept():
    return sweep(clock=timezone.now)


def mailed():
    """Addresses of what was mailed, in order."""
    return [message.to[0] for message in mail.outbox]


def test_each_recipient_is_mailed_once_with_their_own_yarns(knit_along, kit):
    mia = make_participant(knit_along, "Mia")
    recipients = [(kit, {"yarns": "Gull & Slate"}), (mia, {"yarns": "Moss, Fern"})]
    body = "Hello again.\n\n{yarns} read as one; {nothing} is left as it stands."
    count = queue(knit_along, recipients, subject="{yarns} in clue 3", body=body, path="/k/x/")
    assert count == 2
    swept()
    swept()
    first, second = mail.outbox
    assert isinstance(first, EmailMultiAlternatives)
    assert first.subject == "Gull & Slate in clue 3"
    assert "Gull & Slate read as one; {nothing} is left as it stands." in first.body
    assert "https://knits.example/k/x/" in first.body
    html = str(first.alternatives[0][0])
    assert "<p>Gull &amp; Slate read as one;" in html
    assert 'href="https://knits.example/k/x/"' in html
    assert "Moss, Fern" in second.body
    assert "Gull" not in second.body
    assert first.extra_headers["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert first.extra_headers["Message-ID"] != second.extra_headers["Message-ID"]


def test_a_value_that_looks_like_a_place_for_another_is_not_filled_in_again(knit_along, kit):
    queue(knit_along, [(kit, {"a": "{b}", "b": "secret"})], body="Yarn {a}")
    swept()
    assert "Yarn {b}" in mail.outbox[0].body


def test_the_same_key_again_reaches_only_those_who_have_it_not_yet(knit_along, kit):
    mia = make_participant(knit_along, "Mia")
    assert queue(knit_along, [kit], key="dry-run-3") == 1
    assert queue(knit_along, [kit, mia, mia], key="dry-run-3", body="Other words") == 1
    swept()
    assert mailed() == [kit.user.email, mia.user.email]
    assert Message.objects.get().body == "A and B are close."
    assert queue(knit_along, [kit]) == 1  # without a key it is another message
    other = make_knit_along()
    assert queue(other, [make_participant(other)], key="dry-run-3") == 1


def test_it_is_sent_by_the_worker_at_once_and_whatever_the_clues_do(knit_along, kit):
    make_clue(knit_along, release_at=NOON + timedelta(days=3))
    queue(knit_along, [kit])
    assert DBTaskResult.objects.get().run_after == NOON
    assert swept().sent == 1


def test_those_who_left_or_want_no_mail_get_none_but_hosts_are_alerted_all_the_same(
    knit_along, hana, kit
):
    gone = make_participant(knit_along, "Gone", left_at=NOON)
    Participant.objects.update(wants_notices=False)
    queue(knit_along, [hana, kit, gone])
    assert (swept().sent, mailed()) == (0, [])
    queue(knit_along, [hana], kind="alert", subject="Clue 3 is not ready")
    swept()
    (alert,) = mail.outbox
    assert alert.to == [hana.user.email]
    assert "List-Unsubscribe" not in alert.extra_headers
    assert "unsubscribe" not in alert.body
    assert "you look after this knit-along" in alert.body


@pytest.mark.parametrize("kind", ["alert", "comment"])
def test_what_may_tell_of_a_hidden_clue_goes_to_early_readers_only(knit_along, kind):
    """The role counts that they have when it is sent, not when it was written."""
    people = {role: make_participant(knit_along, role.name, role) for role in Role}
    demoted = make_participant(knit_along, "Was", Role.ORGANISER)
    queue(knit_along, [*people.values(), demoted], kind=kind)
    Participant.objects.filter(pk=demoted.pk).update(role=Role.PARTICIPANT)
    swept()
    early = [person.user.email for person in people.values() if person.reads_early]
    assert sorted(mailed()) == sorted(early)


def test_a_kind_nobody_knows_is_refused_with_those_there_are(knit_along, kit):
    with pytest.raises(UnknownKind, match="'postcard' is no kind of notice; there are clue-out"):
        queue(knit_along, [kit], kind="postcard")
    assert not Message.objects.exists()


def test_a_stranger_to_the_knit_along_is_refused_and_nothing_is_stored(knit_along, kit):
    with pytest.raises(ValueError, match="is not of"):
        queue(knit_along, [kit, make_participant(make_knit_along())])
    assert not Message.objects.exists()
    assert not Notice.objects.exists()


@pytest.mark.parametrize("kind", sorted(set(KINDS) - {"clue-out", "errata"}))
def test_every_kind_has_words(knit_along, hana, kind):
    queue(knit_along, [hana], kind=kind, subject="Line one\r\nBcc: sam@knitters.example")
    swept()
    (message,) = mail.outbox
    assert message.subject == "Line one Bcc: sam@knitters.example"
    assert "You get this because you" in message.body
    assert message.recipients() == [hana.user.email]


def test_five_hundred_are_written_in_few_statements(knit_along, kit, django_assert_max_num_queries):
    people = [make_participant(knit_along) for _ in range(500)]
    with django_assert_max_num_queries(12):
        assert queue(knit_along, people) == 500


def test_the_desk_counts_messages_beside_the_clues(as_hana, knit_along, kit):
    queue(knit_along, [kit])
    swept()
    page = words(as_hana.get(f"/k/{knit_along.slug}/desk/notices/"))
    assert "Your yarns in clue 3 <span" in page
    assert "(a note on palettes, after a dry run)" in page


@pytest.mark.parametrize("name", ["Žofie Ægir", "<b>Mo & Co</b>", "{stop}", "a\ue000stop\ue000b"])
def test_a_mail_reads_back_as_it_was_written(knit_along, name):
    """By Python's own parser of RFC 5322 and MIME; a long line, dots and any alphabet."""
    kit = make_participant(knit_along, user=make_user("Kit"))
    User.objects.filter(pk=kit.user_id).update(name=name)
    body = "Zwölf Maschen — “yo”, k2tog.\n.\n" + "long " * 300 + "end\nFrom here on: *sl1*"
    queue(knit_along, [kit], subject="Farben für Größe 3: " + "x" * 90, body=body)
    swept()
    read = mail.outbox[0].message()
    assert read["Subject"] == "Farben für Größe 3: " + "x" * 90
    assert not read.defects
    text, html = (read.get_body((kind,)) for kind in ("plain", "html"))
    assert text is not None
    assert html is not None
    assert f"Hello {name}," in text.get_content()
    assert body in text.get_content()
    assert f"Hello {escape(name)}," in html.get_content()
    assert text["Content-Transfer-Encoding"] == "quoted-printable"
    assert max(map(len, mail.outbox[0].message().as_bytes().splitlines())) <= 998
