"""Export mine, erase me, what was agreed to and when: nothing of a person is forgotten."""

import io
import json
import zipfile
from datetime import timedelta
from typing import Any

import pytest
from django.apps import apps
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db.models import CASCADE
from django.urls import reverse

from kal.actions.people import remove_participant
from kal.models import (
    AuditEntry,
    BuyersImport,
    Consent,
    Erasure,
    JoinListEntry,
    KnitAlong,
    Participant,
    Role,
    User,
)
from kal.records.belongings import SECRET, belongings, foreign_keys, path_to, unaccounted
from kal.views.kept_words import KEPT
from palettes.colour.light import Box
from palettes.models import GalleryEntry, Mark, Photo, Registration
from palettes.models.kit import Kit, KitMaker
from schedule import erasing, stamped
from schedule.actions import queue_messages
from schedule.actions.feed_keys import renew_feed_key
from schedule.erasing import erase_due
from schedule.models import Attachment, Message, Notice, Opening, Post, ReaderComment, SignOff
from tests.builders import NOON, make_clue, make_knit_along, make_participant, make_registration
from tests.commands.test_backup import store_photo

PAGE, EXPORT, ERASE = "/settings/data/", "/settings/data/export/", "/settings/data/erase/"


@pytest.fixture
def busy_kit(kit, hana):
    """Kit, who has left a trace of most kinds."""
    make_registration(kit)
    photo = store_photo(kit, b"kit's own pixels")
    Mark.objects.create(photo=photo, box=Box(0.1, 0.2, 0.3, 0.4))
    clue = make_clue(kit.knit_along)
    revision = clue.revisions.get()
    Opening.objects.create(participant=kit, revision=revision)
    ReaderComment.objects.create(
        revision=revision, reader=kit, line=1, text="kit's comment", written_at=NOON
    )
    SignOff.objects.create(revision=revision, reader=kit, at=NOON)
    renew_feed_key(kit, now=NOON)
    JoinListEntry.objects.create(knit_along=kit.knit_along, email=kit.user.email)
    queue_messages(
        kit.knit_along,
        kind="palette-note",
        subject="About your greys",
        body="Dear Kit, yours are close.",
        recipients=[kit],
        by=hana.user,
        now=NOON,
    )
    Consent.objects.note(kit, at=NOON)
    AuditEntry.objects.record(
        kit.knit_along,
        "removed from the join list",
        by=hana.user,
        at=NOON,
        address=kit.user.email,
    )
    AuditEntry.objects.record(
        kit.knit_along, "changed a role", by=hana.user, at=NOON, person="Kit", participant=kit.pk
    )
    return kit


def exported(client) -> tuple[dict[str, Any], zipfile.ZipFile]:
    response = client.post(EXPORT)
    assert response.status_code == 200
    assert response.headers["Content-Disposition"].startswith("attachment")
    assert "no-store" in response.headers["Cache-Control"]
    archive = zipfile.ZipFile(io.BytesIO(b"".join(response.streaming_content)))
    return json.loads(archive.read("data.json")), archive


def test_no_relation_to_a_person_is_forgotten():
    """Each model that names a person is theirs or loses the name, or is exempt with a reason."""
    assert list(unaccounted()) == []
    owned = [model for model in apps.get_models() if path_to(model, User) is not None]
    for model in apps.get_models():
        people = [
            key
            for key in foreign_keys(model)
            if key.related_model in (User, Participant) and key.remote_field.on_delete is CASCADE
        ]
        assert model in owned or not people, model


def test_what_belongs_to_whom_follows_from_the_relations():
    assert path_to(Mark, User) == "photo__participant__user"
    assert path_to(Mark, Participant) == "photo__participant"
    assert path_to(KnitAlong, User) is None
    assert path_to(Attachment, User) is None


def test_everything_of_ones_own_is_in_the_copy(busy_kit, as_kit):
    data, archive = exported(as_kit)
    for label in (
        *("kal.user", "kal.participant", "kal.consent", "kal.joinlistentry"),
        *("palettes.palette", "palettes.yarn", "palettes.registration", "palettes.registeredyarn"),
        *("palettes.photo", "palettes.mark", "schedule.opening", "schedule.readercomment"),
        *("schedule.signoff", "schedule.notice", "schedule.feedkey"),
    ):
        assert data[label], label
    assert data["kal.user"][0]["email"] == busy_kit.user.email
    assert data["schedule.readercomment"][0]["text"] == "kit's comment"
    photo = Photo.objects.get()
    assert archive.read(f"files/{photo.image.name}") == b"kit's own pixels"
    assert "README.txt" in archive.namelist()


def test_nothing_of_anybody_else_is_in_the_copy(busy_kit, hana, as_kit):
    nell = make_participant(busy_kit.knit_along, "Nell")
    make_registration(nell)
    store_photo(nell, b"nell's pixels")
    data, archive = exported(as_kit)
    text = json.dumps(data)
    assert nell.user.email not in text
    assert hana.user.email not in text
    assert len([name for name in archive.namelist() if name.startswith("files/")]) == 1
    assert {row["participant_id"] for row in data["palettes.palette"]} == {busy_kit.pk}


def test_the_copy_opens_no_doors(busy_kit, as_kit):
    data, _ = exported(as_kit)
    text = json.dumps(data)
    assert busy_kit.token not in text
    assert busy_kit.feed_key.token not in text
    for rows in data.values():
        for row in rows if isinstance(rows, list) else []:
            assert not [name for name in row if SECRET.search(name)]


def test_copies_are_limited_by_the_hour(kit, as_kit, settings):
    settings.ACCOUNT_RATE_LIMITS = settings.ACCOUNT_RATE_LIMITS | {"export_mine": "1/h/user"}
    exported(as_kit)
    response = as_kit.post(EXPORT)
    assert response.status_code == 429
    assert "several copies within the hour" in response.text


def erase(client, person, capture):
    with capture(execute=True):
        return client.post(ERASE, {"email": person.user.email.upper()})


def test_erasing_leaves_nothing_that_says_who(busy_kit, as_kit, django_capture_on_commit_callbacks):
    pk, user = busy_kit.pk, busy_kit.user
    path, email = str(Photo.objects.get().image), user.email
    attachment = Attachment.objects.create(
        clue=busy_kit.knit_along.clues.get(), kind="pdf", name="a.pdf", size=1, file="clues/a"
    )
    copy = stamped.copy_path(attachment.key, busy_kit)
    others = f"{stamped.FOLDER}/{attachment.key.hex}/{pk + 1}-0"
    for name in (copy, others):
        default_storage.save(name, ContentFile(b"x"))
    response = erase(as_kit, busy_kit, django_capture_on_commit_callbacks)
    assert response.status_code == 302
    assert not User.objects.filter(pk=user.pk).exists()
    for model in (GalleryEntry, Registration, Photo, Notice, Opening, ReaderComment, SignOff):
        assert not model.objects.exists(), model
    assert not JoinListEntry.objects.exists()
    assert not Message.objects.exists(), "words to this one person"
    assert not default_storage.exists(path)
    assert not default_storage.exists(copy)
    assert default_storage.exists(others)
    log = str(list(AuditEntry.objects.values_list("detail", flat=True)))
    assert email not in log
    assert "'Kit'" not in log
    assert log.count("somebody who was erased") == 2
    remains = Erasure.objects.get()
    assert (remains.why, remains.had_palette) == ("own", True)
    assert "You are erased" in as_kit.get("/").text
    assert as_kit.get(PAGE).status_code == 302, "signed out"


def test_an_address_in_a_file_that_waits_to_be_confirmed_goes_too(kit, as_kit):
    rows = [[kit.user.email, "Kit", "A-1"], ["nell@knitters.example", "Nell", "A-2"]]
    BuyersImport.objects.create(
        knit_along=kit.knit_along, file_name="buyers.csv", rows=rows, read_at=NOON
    )
    as_kit.post(ERASE, {"email": kit.user.email})
    assert BuyersImport.objects.get().rows == rows[1:]


def test_posts_go_with_their_photos(kit, as_kit, django_capture_on_commit_callbacks):
    post = Post.objects.create(
        author=kit,
        clue=make_clue(kit.knit_along),
        photo="f" * 32,
        width=9,
        height=9,
        alt="a shawl",
        at=NOON,
    )
    for path in post.stored_files():
        default_storage.save(path, ContentFile(b"x"))
    data, archive = exported(as_kit)
    assert data["schedule.post"][0]["alt"] == "a shawl"
    assert f"files/{post.stored_files()[0]}" in archive.namelist()
    erase(as_kit, kit, django_capture_on_commit_callbacks)
    assert not [path for path in post.stored_files() if default_storage.exists(path)]


def test_files_stay_when_the_rows_could_not_be_erased(busy_kit, monkeypatch):
    def fail(*_):
        raise RuntimeError

    path = str(Photo.objects.get().image)
    monkeypatch.setattr(User, "delete", fail)
    with pytest.raises(RuntimeError):
        erasing.erase_person(busy_kit.user, now=NOON)
    assert default_storage.exists(path)
    assert Photo.objects.exists()


@pytest.mark.parametrize("typed", ["", "hana", "somebody@else.example"])
def test_another_address_erases_nobody(kit, as_kit, typed):
    response = as_kit.post(ERASE, {"email": typed})
    assert response.status_code == 422
    assert "as it stands above" in response.text
    assert Participant.objects.filter(pk=kit.pk).exists()


def test_the_only_organiser_hands_over_first(hana, kit, as_hana):
    response = as_hana.post(ERASE, {"email": hana.user.email})
    assert response.status_code == 422
    assert f"You are the only organiser of {hana.knit_along.title}" in response.text
    assert Participant.objects.filter(pk=hana.pk).exists()
    Participant.objects.filter(pk=kit.pk).update(role=Role.ORGANISER)
    clue = make_clue(hana.knit_along)
    clue.revisions.update(author=hana.user)
    assert as_hana.post(ERASE, {"email": hana.user.email}).status_code == 302
    assert clue.revisions.get().author is None


def test_a_shop_keeps_its_kits_without_its_address(kit, sam, as_sam):
    maker = KitMaker.objects.create(
        knit_along=kit.knit_along, email=sam.email, name="Dye Works", invited_at=NOON
    )
    Kit.objects.create(maker=maker, title="Harbour set")
    as_sam.post(ERASE, {"email": sam.email})
    maker.refresh_from_db()
    assert maker.email == f"erased-{maker.pk}@erased.invalid"
    assert Kit.objects.exists()


def test_the_page_says_what_goes_and_what_stays(busy_kit, as_kit):
    page = as_kit.get(PAGE).text
    for words in ("What is erased", "What remains", "Backups made before", "yarns of registered"):
        assert words in page, words
    assert as_kit.get("/settings/").text.count(PAGE) == 1


@pytest.mark.parametrize("path", [PAGE, EXPORT, ERASE])
def test_visitors_are_asked_to_sign_in(client, db, path):
    assert client.get(PAGE).status_code == 302
    assert client.post(path).status_code in (302, 405)


def test_wishes_are_dated(kit, as_kit):
    address = reverse("kal:membership", args=[kit.knit_along.slug])
    as_kit.post(address, {"shows_palette": "on", "wants_notices": "on"})
    as_kit.post(address, {"shows_palette": "on"})
    said = list(Consent.objects.filter(participant=kit).values_list("purpose", "is_given"))
    assert sorted(said[:2]) == [("gallery", True), ("mail", True)]
    assert said[2:] == [("mail", False)]
    page = as_kit.get(PAGE).text
    assert "yes, since" in page
    assert "no, since" in page
    assert "no, and never asked otherwise" in page


def test_a_removal_takes_back_what_was_agreed_to(kit, hana):
    Participant.objects.filter(pk=kit.pk).update(shows_palette=True)
    kit.refresh_from_db()
    Consent.objects.note(kit, at=NOON)
    remove_participant(kit, by=hana.user, now=NOON)
    standing = Consent.objects.standing(kit)
    assert not standing["gallery"].is_given


class TestRetention:
    """Those who left are erased so many days after the end, by the worker, each by themselves."""

    @pytest.fixture
    def gone(self, kit, hana):
        make_clue(kit.knit_along)
        Participant.objects.filter(pk=kit.pk).update(left_at=NOON)
        KnitAlong.objects.update(erase_left_after=30)
        return kit

    def test_at_the_day_and_no_sooner(self, gone):
        due = NOON + timedelta(days=30)
        assert erase_due(now=due - timedelta(seconds=1)) == 0
        assert erase_due(now=due) == 1
        assert not Participant.objects.filter(pk=gone.pk).exists()
        assert User.objects.filter(pk=gone.user.pk).exists(), "the account is another matter"
        assert Erasure.objects.get().why == "time"

    def test_nobody_who_takes_part(self, gone, hana):
        erase_due(now=NOON + timedelta(days=999))
        assert Participant.objects.get() == hana

    @pytest.mark.parametrize(("own", "site", "erased"), [(None, 0, 0), (None, 9, 1), (0, 9, 0)])
    def test_the_knit_alongs_own_word_counts_before_the_sites(
        self, gone, settings, own, site, erased
    ):
        settings.ERASE_LEFT_AFTER = site
        KnitAlong.objects.update(erase_left_after=own)
        assert erase_due(now=NOON + timedelta(days=100)) == erased

    def test_not_before_the_last_clue(self, gone):
        make_clue(gone.knit_along, 9)
        assert erase_due(now=NOON + timedelta(days=31)) == 0


def test_belongings_of_a_participant_are_those_of_one_knit_along(busy_kit):
    other = make_participant(make_knit_along(), user=busy_kit.user)
    make_registration(other)
    mine = dict(belongings(other))
    assert mine["palettes.registration"].count() == 1
    assert mine["palettes.photo"].count() == 0


def test_every_kind_of_row_has_a_name_that_people_know(kit):
    assert set(KEPT) == {label for label, _rows in belongings(kit.user)}
