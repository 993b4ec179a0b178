"""`manage.py backup` and `restore`: what was put away comes back, whole or not at all."""

import json
import threading
import zipfile
from datetime import timedelta

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone

from kal.models import AuditEntry, KnitAlong, Participant, Role, User
from kal.records.files import drop_strays, held_files
from kal.records.tables import LEFT_OUT, backed_up
from kal.records.values import as_json, prepared, stored_fields
from palettes.colour.light import Box
from palettes.models import Mark, Photo, Yarn
from tests.builders import (
    NOON,
    make_clue,
    make_knit_along,
    make_participant,
    make_registration,
)


def all_rows() -> dict[str, list[object]]:
    """Return every row that a backup should hold, as JSON gives it back."""
    found = {}
    for label, model in backed_up().items():
        fields = stored_fields(model)
        rows = model._base_manager.order_by("pk").values_list(*(one.attname for one in fields))
        found[label] = [json.loads(as_json([*map(prepared, fields, row)])) for row in rows]
    return found


def store_photo(participant: Participant, content: bytes = b"pixels") -> Photo:
    photo = Photo(participant=participant, width=3, height=2)
    photo.image.save("", ContentFile(content))
    return photo


@pytest.fixture
def filled(transactional_db):
    """A site with something of most kinds, a photo and a file among them."""
    knit_along = make_knit_along(title="Kites über den “Obstgarten”")
    hana = make_participant(knit_along, "Hana", Role.ORGANISER)
    kit = make_participant(knit_along, "Kit", chosen_ways={"b": "2", "a": "1"})
    make_registration(kit)
    clue = make_clue(knit_along)
    photo = store_photo(kit, bytes(range(256)) * 5000)
    Mark.objects.create(photo=photo, box=Box(0.1, 0.2, 0.3, 0.4), yarn=Yarn.objects.first())
    AuditEntry.objects.record(knit_along, "closed the palettes", by=hana.user, at=NOON, count=3)
    file = clue.attachments.create(
        kind="pdf", name="a.pdf", content_type="application/pdf", size=3, file="clues/" + "a" * 32
    )
    default_storage.save(file.file.name, ContentFile(b"%PDF"))
    clue.revisions.get().attachments.add(file)
    return knit_along


@pytest.fixture
def archive(filled, tmp_path):
    target = tmp_path / "site.zip"
    call_command("backup", str(target))
    return target


def test_all_rows_and_files_come_back(archive, capsys):
    before, photo = all_rows(), Photo.objects.get()
    users = User.objects.count()
    User.objects.all().delete()
    KnitAlong.objects.all().delete()
    default_storage.delete(str(photo.image))
    make_participant(make_knit_along(), "Mallory")
    call_command("restore", str(archive), "--replace")
    assert all_rows() == before
    assert "2 files are back" in capsys.readouterr().out
    assert User.objects.count() == users
    with photo.image.open("rb") as stream:
        assert stream.read() == bytes(range(256)) * 5000
    assert Mark.objects.get().box == Box(0.1, 0.2, 0.3, 0.4)


def test_rows_that_come_later_get_numbers_of_their_own(archive):
    call_command("restore", str(archive), "--replace")
    last = Participant.objects.latest("pk").pk
    assert make_participant(KnitAlong.objects.get(), "Nell").pk > last


def test_a_site_with_rows_is_not_restored_over_unasked(archive):
    before = all_rows()
    with pytest.raises(CommandError, match="rows already; restore into an empty one") as refused:
        call_command("restore", str(archive))
    assert refused.value.returncode == 2
    assert all_rows() == before


def test_an_archive_is_not_written_over_unasked(archive):
    with pytest.raises(CommandError, match="is there already"):
        call_command("backup", str(archive))
    call_command("backup", str(archive), "--replace")


def test_nobody_else_can_read_an_archive_and_no_part_is_left(archive):
    assert archive.stat().st_mode & 0o777 == 0o600
    assert [path.name for path in archive.parent.glob(".*.part")] == []


def test_sessions_are_not_put_away(archive):
    with zipfile.ZipFile(archive) as opened:
        names = set(opened.namelist())
    assert not names & {f"rows/{label}.jsonl" for label in LEFT_OUT}
    assert {"rows/kal.user.jsonl", "rows/schedule.revision_attachments.jsonl"} <= names


def changed(archive, name: str, change) -> None:
    """Write the archive anew with one member changed, or left out where `change` returns None."""
    with zipfile.ZipFile(archive) as opened:
        members = {one: opened.read(one) for one in opened.namelist()}
    members[name] = change(members[name])
    with zipfile.ZipFile(archive, "w") as written:
        for one, content in members.items():
            if content is not None:
                written.writestr(one, content)


def of_manifest(**fields):
    return lambda content: json.dumps(json.loads(content) | fields).encode()


ROWS = "rows/kal.participant.jsonl"


@pytest.mark.parametrize(
    ("name", "change", "words"),
    [
        (ROWS, lambda content: content.replace(b"organiser", b"moderator"), "checksum differs"),
        (ROWS, lambda content: None, "is missing"),
        ("manifest.json", lambda content: None, "holds no manifest.json"),
        ("manifest.json", lambda content: b"[]", "not a backup of such a site"),
        ("manifest.json", of_manifest(version=2), "restore it with the release that made it"),
        ("manifest.json", of_manifest(migrations=["kal.9999_of_tomorrow"]), "newer release"),
        ("manifest.json", of_manifest(tables={}), "names other tables"),
    ],
)
def test_a_damaged_or_newer_archive_is_refused_and_nothing_changes(archive, name, change, words):
    changed(archive, name, change)
    before, files = all_rows(), sorted(held_files())
    with pytest.raises(CommandError, match=words) as refused:
        call_command("restore", str(archive), "--replace")
    assert refused.value.returncode == 2
    assert (all_rows(), sorted(held_files())) == (before, files)


def test_a_cut_archive_is_refused(archive):
    whole = archive.read_bytes()
    archive.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(CommandError, match="cut short"):
        call_command("restore", str(archive), "--replace")


def test_rows_that_do_not_fit_together_change_nothing(archive):
    """A participant of a user who is not there: the database itself refuses, at the very end."""
    changed(archive, "rows/kal.user.jsonl", lambda content: b"")
    with zipfile.ZipFile(archive) as opened:
        manifest = json.loads(opened.read("manifest.json"))
    empty = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"  # SHA-256 of nothing
    members = manifest["members"] | {"rows/kal.user.jsonl": [0, empty]}
    changed(archive, "manifest.json", of_manifest(members=members))
    before = all_rows()
    with pytest.raises(CommandError, match="do not fit together"):
        call_command("restore", str(archive), "--replace")
    assert all_rows() == before


def test_a_path_that_leads_elsewhere_is_refused(archive, tmp_path):
    with zipfile.ZipFile(archive, "a") as opened:
        manifest = json.loads(opened.read("manifest.json"))
        opened.writestr("files/../../out.txt", b"")
    members = manifest["members"] | {"files/../../out.txt": [0, "e3b0"]}
    changed(archive, "manifest.json", of_manifest(members=members))
    with pytest.raises(CommandError, match="no name of a private file"):
        call_command("restore", str(archive), "--replace")
    assert not (tmp_path / "out.txt").exists()


def test_a_file_that_is_gone_is_named_and_keeps_nobody_from_a_backup(filled, tmp_path, capsys):
    default_storage.delete(str(Photo.objects.get().image))
    call_command("backup", str(tmp_path / "site.zip"), "--json")
    made = json.loads(capsys.readouterr().out)
    assert made["gone"] == [Photo.objects.get().image.name]
    assert made["files"] == 1


def test_a_backup_is_of_one_instant_while_others_write(filled, tmp_path):
    """A writer adds a photo with its audit entry, and removes the one before, all the while."""
    kit = Participant.objects.get(user__name="Kit")
    stop, failures, written = threading.Event(), [], []

    def write() -> None:
        try:
            while not stop.is_set():
                photo = store_photo(kit, b"x" * 1000)
                earlier = Photo.objects.exclude(pk=photo.pk).filter(participant=kit).first()
                if earlier:
                    name = str(earlier.image)
                    earlier.delete()
                    default_storage.delete(name)
                written.append(photo.pk)
        except Exception as error:
            failures.append(error)
        finally:
            connection.close()

    thread = threading.Thread(target=write)
    thread.start()
    try:
        for number in range(5):
            archive = tmp_path / f"{number}.zip"
            call_command("backup", str(archive))
            with zipfile.ZipFile(archive) as opened:
                manifest = json.loads(opened.read("manifest.json"))
                photos = opened.read("rows/palettes.photo.jsonl").decode().splitlines()
                columns = manifest["tables"]["palettes.photo"]["columns"]
                named = {json.loads(line)[columns.index("image")] for line in photos}
                held = {name.removeprefix("files/") for name in manifest["members"]}
            assert 1 <= len(named) <= 2
            assert {name for name in held if name.startswith("photos/")} | set(
                manifest["gone"]
            ) == named
    finally:
        stop.set()
        thread.join()
    assert failures == []
    assert len(written) > 5
    call_command("restore", str(tmp_path / "4.zip"), "--replace")


def test_files_that_no_row_holds_are_removed_after_a_day(filled):
    default_storage.save("photos/stray.webp", ContentFile(b"x"))
    held = sorted(held_files())
    now = timezone.now()
    assert drop_strays(now=now) == 0
    assert drop_strays(now=now + timedelta(days=2)) == 1
    assert sorted(held_files()) == held
    assert all(default_storage.exists(path) for path in held)
