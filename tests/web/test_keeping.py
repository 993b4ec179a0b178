"""Next year's knit-along out of this year's, and the page that says how long data is kept."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
import time_machine
from django.core.files.base import ContentFile
from django.urls import reverse

from kal.models import AuditEntry, KnitAlong, LetterNeed, Role
from schedule.actions import propose_clues
from schedule.actions.clone import wall_times_anew
from schedule.models import (
    Attachment,
    ClueSection,
    CountedPart,
    GlossaryEntry,
    LetterUse,
    Opening,
    Way,
    YarnReserve,
)
from tests.builders import NOON, make_clue, make_knit_along, make_meeting, make_participant
from tests.conftest import signed_in


@pytest.fixture
def last_year(hana, kit):
    """Four colours, three clues, the first with all that a clue can hold."""
    knit_along = hana.knit_along
    KnitAlong.objects.filter(pk=knit_along.pk).update(
        colour_count=4, clue_count=3, join_rule="code", theme="Quays at dusk"
    )
    knit_along.refresh_from_db()
    LetterNeed.objects.filter(letter="E").delete()
    LetterNeed.objects.filter(letter="B").update(grams=150)
    for number in (1, 2, 3):
        make_clue(knit_along, number, body=f"Text of clue {number} with ![chart](chart.webp)")
    clue = knit_along.clues.get(number=1)
    revision = clue.revisions.get()
    file = Attachment(
        clue=clue,
        kind="image",
        name="chart.webp",
        alt="a chart",
        content_type="image/webp",
        size=5,
        width=2,
        height=2,
    )
    file.file.save("", ContentFile(b"chart"))
    revision.attachments.add(file)
    section = ClueSection.objects.create(revision=revision, position=1, title="Edge")
    Way.objects.create(section=section, position=1, body="Plainly.", name="the plain way")
    CountedPart.objects.create(section=section, position=1, start=9, rows=4, changes=[2, 0])
    LetterUse.objects.create(revision=revision, letter="D", grams=21, note="with the edge")
    make_meeting(clue, "AD", "strong")
    GlossaryEntry.objects.create(knit_along=knit_along, short="kfb", meaning="knit front and back")
    YarnReserve.objects.create(knit_along=knit_along, percent=15)
    Opening.objects.create(participant=kit, revision=revision)
    hana.user.may_host = True
    hana.user.save()
    return knit_along


def form_of(client, address) -> dict[str, object]:
    """Return what the page would send if nothing were changed in it."""
    form = client.get(address).context["form"]
    values = {name: form[name].value() for name in form.fields}
    walls = {name: value for name, value in values.items() if isinstance(value, datetime)}
    values |= {name: f"{wall:%Y-%m-%dT%H:%M}" for name, wall in walls.items()}
    return {name: value for name, value in values.items() if value not in (None, False)}


def cloned(client, source, **changes) -> KnitAlong:
    address = reverse("kal:clone", args=[source.slug])
    answer = client.post(address, form_of(client, address) | changes)
    assert answer.status_code == 302, answer.context["form"].errors
    return KnitAlong.objects.exclude(pk=source.pk).get()


class TestClone:
    def test_four_colours_become_five(self, last_year, as_hana):
        new = cloned(as_hana, last_year, title="Quays again", colour_count=5)
        needs = {need.letter: need.grams for need in new.needs.all()}
        assert needs == {letter: 150 if letter == "B" else 100 for letter in "ABCDE"}
        assert (new.slug, new.theme, new.join_rule) == ("quays-again", "Quays at dusk", "code")
        assert not new.is_public

    def test_dates_are_a_year_on_at_the_same_day_and_hour(self, last_year, hana):
        with time_machine.travel(NOON + timedelta(days=90)):
            new = cloned(signed_in(hana.user), last_year)
        assert new.cast_on_at == NOON + timedelta(weeks=52)
        releases = [clue.release_at for clue in new.clues.all()]
        assert releases[0] == new.cast_on_at
        assert len(releases) == 3

    def test_years_later_they_are_still_to_come(self, last_year):
        now = datetime(2031, 7, 1, tzinfo=UTC)
        walls = wall_times_anew(last_year, now)
        assert walls["cast_on"].year == 2032
        assert walls["cast_on"].weekday() == NOON.weekday()

    def test_everything_written_is_carried_over(self, last_year, as_hana):
        new = cloned(as_hana, last_year)
        clue = new.clues.get(number=1)
        revision = clue.revisions.get()
        assert (revision.number, revision.note, clue.ready_at) == (1, "", None)
        assert revision.body == "Text of clue 1 with ![chart](chart.webp)"
        assert clue.title == "Clue title 1"
        section = revision.sections.get()
        assert (section.title, section.ways.get().body) == ("Edge", "Plainly.")
        assert section.parts.get().changes == [2, 0]
        assert revision.letter_uses.get().grams == Decimal(21)
        assert str(revision.meetings.get()) == "A and D"
        assert new.glossary.get().meaning == "knit front and back"
        assert new.yarn_reserve.percent == 15

    def test_files_are_copied_by_content(self, last_year, as_hana):
        new = cloned(as_hana, last_year)
        copy = Attachment.objects.get(clue__knit_along=new)
        original = Attachment.objects.get(clue__knit_along=last_year)
        assert copy.file.name != original.file.name
        original.file.delete()
        with copy.file.open("rb") as stream:
            assert stream.read() == b"chart"
        assert copy.clue.revisions.get().description_of(copy) == "a chart"

    def test_nobody_is_taken_along(self, last_year, hana, as_hana):
        make_participant(last_year, "Edda", Role.CO_ORGANISER)
        new = cloned(as_hana, last_year)
        assert [(one.user, one.role) for one in new.participants.all()] == [
            (hana.user, Role.ORGANISER)
        ]
        assert not Opening.objects.filter(participant__knit_along=new).exists()
        entry = new.audit_log.get(act="cloned it from another")
        assert entry.detail == {"source": last_year.slug}

    def test_fewer_colours_leave_out_what_is_said_of_letters_that_are_gone(
        self, last_year, as_hana
    ):
        new = cloned(as_hana, last_year, colour_count=3)
        revision = new.clues.get(number=1).revisions.get()
        assert not revision.letter_uses.exists()
        assert not revision.meetings.exists()
        assert new.needs.count() == 3

    def test_the_structure_alone(self, last_year, as_hana):
        address = reverse("kal:clone", args=[last_year.slug])
        values = form_of(as_hana, address)
        del values["with_texts"]
        as_hana.post(address, values)
        new = KnitAlong.objects.exclude(pk=last_year.pk).get()
        assert new.clues.count() == 3
        assert not any(clue.is_written for clue in new.clues.all())

    def test_of_an_archived_one_too(self, last_year, as_hana):
        KnitAlong.objects.update(archived_at=NOON)
        new = cloned(as_hana, last_year)
        assert new.archived_at is None

    def test_not_by_those_who_may_not_host(self, last_year, as_kit):
        address = reverse("kal:clone", args=[last_year.slug])
        assert as_kit.get(address).status_code == 404
        other = make_participant(last_year, "Nell", Role.ORGANISER)
        assert signed_in(other.user).get(address).status_code == 404

    def test_bad_input_loses_nothing_and_makes_nothing(self, last_year, as_hana):
        address = reverse("kal:clone", args=[last_year.slug])
        values = form_of(as_hana, address) | {"title": "", "theme": "Typed anew"}
        answer = as_hana.post(address, values)
        assert answer.status_code == 422
        assert "Typed anew" in answer.text
        assert KnitAlong.objects.count() == 1


class TestKeeping:
    def test_days_are_previewed_and_logged(self, knit_along, hana, kit, as_hana):
        kit.left_at = NOON
        kit.save()
        address = reverse("kal:keeping", args=[knit_along.slug])
        page = as_hana.post(address, {"days": "30"}, follow=True).text
        assert "It is erased 30 days after the last clue" in page
        assert "1 person has left." in page
        with time_machine.travel(NOON + timedelta(days=31)):
            page = signed_in(hana.user).get(address).text
        assert "1 is erased when the worker next tidies up." in page
        detail = AuditEntry.objects.get(act="changed how long data is kept").detail
        assert detail == {"before": "as the site says", "after": 30}

    @pytest.mark.parametrize("typed", ["-1", "x", "99999"])
    def test_bad_numbers_are_refused(self, knit_along, as_hana, typed):
        address = reverse("kal:keeping", args=[knit_along.slug])
        assert as_hana.post(address, {"days": typed}).status_code == 422
        knit_along.refresh_from_db()
        assert knit_along.erase_left_after is None

    def test_participants_and_strangers_are_not_let_in(self, knit_along, as_kit, as_sam):
        address = reverse("kal:keeping", args=[knit_along.slug])
        assert as_kit.get(address).status_code == 404
        assert as_sam.get(address).status_code == 404


def test_proposed_clues_come_with_their_rows(db):
    assert all(clue.pk for clue in propose_clues(make_knit_along()))
