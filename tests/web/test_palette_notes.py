"""Kind notes after a dry run: seen before they go, sent once, read by mail or on the page."""

import pytest
from django.core import mail
from django.utils import timezone

from kal.models import AuditEntry
from palettes.actions import register_palette
from schedule.actions.letters import open_plan
from schedule.actions.palette_notes import send_palette_notes
from schedule.dry_run import dry_run
from schedule.models import Meeting, Message, Notice, PaletteNote
from schedule.notices.sweep import sweep
from schedule.palette_notes import addressees
from tests.builders import NOON, make_clue, make_meeting, make_participant, make_registration
from tests.conftest import signed_in

pytestmark = pytest.mark.usefixtures("noon")

LEVELS = (20, 24, 60, 75, 92)  # A and B are hard to tell apart
WORDS = {"subject": "About {pairs}", "body": "Look at {pairs}.\r\n\r\n{help}"}


@pytest.fixture
def pattern(knit_along):
    first, second = make_clue(knit_along, 1), make_clue(knit_along, 2)
    make_meeting(first, "AB", technique="canarytechnique")
    make_meeting(second, "AE")
    return first, second


@pytest.fixture
def noted(knit_along, kit, pattern):
    """Kit's palette is worth a note, Fern's is not."""
    make_registration(make_participant(knit_along, "Fern"), (15, 45, 60, 75, 95))
    return make_registration(kit, LEVELS)


def address(knit_along):
    return f"/k/{knit_along.slug}/desk/dry-run/1/notes/"


def send(client, knit_along, **words):
    return client.post(address(knit_along), WORDS | words | {"send": "yes"}, follow=True)


def test_the_draft_has_places_for_what_is_the_readers_own(knit_along, as_hana, noted):
    html = as_hana.get(address(knit_along)).content.decode()
    assert "It goes to 1 person." in html
    assert "{pairs}" in html
    assert "Send it to" not in html


def test_it_is_seen_before_it_is_sent(knit_along, as_hana, noted):
    html = as_hana.post(address(knit_along), WORDS).content.decode()
    assert "About A and B (Grey 20 beside Grey 24)" in html
    assert "If you have not knitted with them yet, exchanging the yarns of " in html
    assert "Send it to 1 person" in html
    assert not PaletteNote.objects.exists()
    assert not Notice.objects.exists()


def test_it_arrives_once_and_is_in_the_log(knit_along, hana, kit, as_hana, noted):
    answer = send(as_hana, knit_along)
    assert "1 note is on its way." in answer.content.decode()
    again = send(as_hana, knit_along, body="Other words about {pairs}")
    assert "so nothing was sent" in again.content.decode()
    for _ in range(2):
        sweep(clock=timezone.now)
    (told,) = [m for m in mail.outbox if m.subject.startswith("About")]
    assert told.to == [kit.user.email]
    assert told.subject == "About A and B (Grey 20 beside Grey 24)"
    assert "Look at A and B (Grey 20 beside Grey 24)." in told.body
    assert f"/k/{knit_along.slug}/letters/" in told.body
    assert "canary" not in told.body
    entry = AuditEntry.objects.get(act="sent notes on palettes")
    assert (entry.actor, entry.detail) == (hana.user, {"notes": 1, "clue": 1})
    assert Message.objects.count() == 1


def test_a_spare_of_ones_own_is_named_where_it_mends_everything(
    knit_along, hana, kit, as_hana, pattern
):
    make_registration(kit, (20, 22, 21, 21.5, 95, 60), spares=1)
    Meeting.objects.filter(first="A", second="E").delete()
    make_registration(make_participant(knit_along, "Fern"), (20, 22, 21, 21.5, 23))
    open_plan(knit_along, at=NOON, by=hana.user, now=NOON)
    make_meeting(pattern[0], "BC", "close")
    make_meeting(pattern[0], "AC")
    send(as_hana, knit_along)
    bodies = {note.participant.user.name: note.body for note in PaletteNote.objects.all()}
    assert "Your spare Grey 60 in place of Grey " in bodies["Kit"]
    assert "A yarn that is clearly lighter or darker" in bodies["Fern"]


def test_two_who_send_at_once_send_one(knit_along, hana, noted):
    """Both worked out the list before either sent."""
    run = dry_run(knit_along, now=NOON)
    both = [addressees(knit_along, run), addressees(knit_along, run)]
    sent = [
        send_palette_notes(knit_along, owed, subject="s", body="b", by=hana.user, now=NOON)
        for owed in both
    ]
    assert sent == [1, 0]
    assert PaletteNote.objects.count() == 1


def test_another_clue_with_the_same_letters_is_no_reason_for_a_second(
    knit_along, as_hana, noted, pattern
):
    send(as_hana, knit_along)
    make_meeting(pattern[1], "AB", "strong")
    html = as_hana.get(f"/k/{knit_along.slug}/desk/dry-run/notes/").content.decode()
    assert "Everybody on the list has a note about these letters already." in html
    html = as_hana.get(f"/k/{knit_along.slug}/desk/dry-run/").content.decode()
    assert "has a note already" in html


def test_a_changed_palette_may_be_worth_a_new_one(knit_along, hana, kit, as_hana, noted):
    send(as_hana, knit_along)
    kit.palette.yarns.filter(lab_l=24).update(lab_l=22)
    register_palette(kit.palette, now=NOON)
    send(as_hana, knit_along)
    assert PaletteNote.objects.filter(participant=kit).count() == 2


def test_a_palette_registered_anew_meanwhile_gets_none(knit_along, hana, kit, noted):
    owed = addressees(knit_along, dry_run(knit_along, now=NOON))
    kit.palette.yarns.filter(lab_l=24).update(lab_l=50)
    register_palette(kit.palette, now=NOON)
    by = hana.user
    assert send_palette_notes(knit_along, owed, subject="s", body="b", by=by, now=NOON) == 0


def test_who_wants_no_mail_finds_it_on_the_page_of_their_letters(
    knit_along, kit, as_hana, as_kit, noted
):
    kit.wants_notices = False
    kit.save()
    html = as_hana.get(address(knit_along)).content.decode()
    assert "1 of them wants no mail" in html
    send(as_hana, knit_along)
    sweep(clock=timezone.now)
    assert [m for m in mail.outbox if m.subject.startswith("About")] == []
    html = as_kit.get(f"/k/{knit_along.slug}/letters/").content.decode()
    assert "A note from the organiser" in html
    assert "Look at A and B (Grey 20 beside Grey 24)." in html


def test_nobody_reads_anothers_note(knit_along, as_hana, noted):
    send(as_hana, knit_along)
    fern = signed_in(knit_along.participants.get(user__name="Fern").user)
    assert "A note from" not in fern.get(f"/k/{knit_along.slug}/letters/").content.decode()


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ({"body": "Dear {name}, {letters}"}, "Nothing can be put for {name} and {letters}; use"),
        ({"subject": "{}"}, "Nothing can be put for {}; use {pairs} and {help}"),
        ({"body": ""}, "This field is required."),
        ({"subject": "x" * 151}, "at most 150 characters"),
    ],
)
def test_words_that_cannot_be_sent_are_refused_and_kept(
    knit_along, as_hana, noted, words, sentence
):
    for more in ({}, {"send": "yes"}):
        answer = as_hana.post(address(knit_along), WORDS | words | more)
        assert answer.status_code == 422
        assert sentence in answer.content.decode()
        assert "Send it to" not in answer.content.decode()
    assert not PaletteNote.objects.exists()


def test_a_yarn_named_like_a_place_or_a_tag_stays_a_name(knit_along, kit, as_hana, noted):
    kit.palette.yarns.filter(lab_l=24).update(name="{help} <b>")
    register_palette(kit.palette, now=NOON)
    send(as_hana, knit_along)
    note = PaletteNote.objects.latest("pk")
    assert "Grey 20 beside {help} <b>" in note.body
    sweep(clock=timezone.now)
    told = next(m for m in mail.outbox if m.subject.startswith("About"))
    assert "beside {help} <b>" in told.body
    assert "&lt;b&gt;" in str(told.message())
    assert "<b>" not in str(told.message()).partition("text/html")[2]
