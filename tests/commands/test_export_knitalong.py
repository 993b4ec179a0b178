"""`manage.py export_knitalong`: read back with nothing but a CSV and a JSON reader."""

import csv
import io
import json
import zipfile
from pathlib import Path

import pytest
from django.apps import apps
from django.core.files.base import ContentFile
from django.core.management import CommandError, call_command

from kal.models import AuditEntry, JoinCode, KnitAlong, Role
from kal.records.open_export import LEFT_OUT, path_to_knit_along, tables
from palettes.models import RegisteredYarn, Yarn
from schedule.actions.feed_keys import renew_feed_key
from schedule.models import Attachment
from tests.builders import (
    NOON,
    make_clue,
    make_knit_along,
    make_meeting,
    make_participant,
    make_registration,
)
from tests.commands.test_backup import store_photo

DOCS = Path(__file__).parent.parent.parent / "docs/export.md"


@pytest.fixture
def full(hana, kit):
    knit_along = hana.knit_along
    kit.user.name = "=HYPERLINK(0)"
    kit.user.save()
    make_registration(kit)
    Yarn.objects.filter(position=0).update(name="-2+3 “Grau”, tief\nund\tbreit", lab_a=-5.5)
    clue = make_clue(knit_along, body="Cast on 5.\n\nÜber “alles”.")
    make_meeting(clue, "AB", "strong")
    file = Attachment(clue=clue, kind="pdf", name="a.pdf", content_type="application/pdf", size=4)
    file.file.save("", ContentFile(b"%PDF"))
    clue.revisions.get().attachments.add(file)
    store_photo(kit, b"pixels")
    renew_feed_key(kit, now=NOON)
    JoinCode.objects.create(knit_along=knit_along, label="parcels")
    AuditEntry.objects.record(knit_along, "closed the palettes", by=hana.user, at=NOON)
    other = make_knit_along(title="Not this one")
    make_registration(make_participant(other, "Nell", Role.PARTICIPANT))
    return knit_along


def export(knit_along, target) -> dict[str, bytes]:
    """Return the members of the export by name, whether it is a folder or a zip file."""
    call_command("export_knitalong", knit_along.slug, str(target))
    if target.suffix == ".zip":
        with zipfile.ZipFile(target) as archive:
            return {name: archive.read(name) for name in archive.namelist()}
    found = [path for path in target.rglob("*") if path.is_file()]
    return {str(path.relative_to(target)): path.read_bytes() for path in found}


def table(members, name: str) -> list[dict[str, str]]:
    text = members[f"tables/{name}.csv"].decode("utf-8")
    return list(csv.DictReader(io.StringIO(text, newline="")))


@pytest.mark.parametrize("name", ["out", "out.zip"])
def test_it_is_read_back_with_plain_readers(full, kit, tmp_path, name):
    members = export(full, tmp_path / name)
    facts = json.loads(members["knit-along.json"])
    assert facts["slug"] == full.slug
    assert facts["needs"]["A"] == {"grams": "100.0", "metres": "400.0"}
    assert facts["cast_on_at"] == "2027-03-01T12:00:00+00:00"
    clue = json.loads(members["clues.json"])[0]
    revision = clue["revisions"][0]
    assert revision["body"] == "Cast on 5.\n\nÜber “alles”."
    assert revision["meetings"][0]["needs"] == "strong"
    assert members[revision["files"][0]["path"]] == b"%PDF"
    people = table(members, "kal.participant")
    assert [one["role"] for one in people] == ["organiser", "participant"]
    assert people[1]["user_email"] == kit.user.email
    assert people[0]["wants_notices"] == "true"
    yarns = table(members, "palettes.registeredyarn")
    assert len(yarns) == RegisteredYarn.objects.count() - 5, "of this knit-along alone"
    assert float(yarns[0]["lab_l"]) == 20
    assert members[f"files/{table(members, 'palettes.photo')[0]['image']}"] == b"pixels"


def test_no_cell_is_a_formula_and_numbers_stay_numbers(full, tmp_path):
    members = export(full, tmp_path / "out")
    assert table(members, "kal.participant")[1]["user_name"] == "'=HYPERLINK(0)"
    yarn = table(members, "palettes.yarn")[0]
    assert yarn["name"] == "'-2+3 “Grau”, tief\nund\tbreit"
    assert yarn["lab_a"] == "-5.5"


def test_what_opens_doors_is_left_out(full, kit, tmp_path):
    members = export(full, tmp_path / "out")
    everything = b"".join(members.values()).decode("utf-8", "replace")
    secrets = (kit.token, kit.feed_key.token, JoinCode.objects.get().code)
    assert not [secret for secret in secrets if secret in everything]


def test_every_table_and_column_is_described(full, tmp_path):
    members = export(full, tmp_path / "out")
    text = io.StringIO(members["columns.csv"].decode(), newline="")
    described = {(row["file"], row["column"]) for row in csv.DictReader(text)}
    for name in members:
        if name.startswith("tables/"):
            header = next(csv.reader(io.StringIO(members[name].decode(), newline="")))
            assert {(name, column) for column in header} <= described
    guide = DOCS.read_text()
    for name in ("knit-along.json", "clues.json", "columns.csv", "tables/", "files/"):
        assert f"`{name}" in guide


def test_no_part_of_a_knit_along_is_forgotten():
    """Whatever would go with a knit-along is in its export, but what follows from the rest."""
    names = {model._meta.label_lower for model in tables()}
    assert {"kal.knitalong", "schedule.revision_attachments", "schedule.unsavedwords"} <= names
    for model in apps.get_models():
        if path_to_knit_along(model) is not None:
            assert model._meta.label_lower in names | LEFT_OUT
    assert "kal.user" not in names


def test_nothing_is_written_over_and_a_failure_leaves_nothing(full, tmp_path):
    target = tmp_path / "out"
    export(full, target)
    for taken in (target, target / "clues.json"):
        with pytest.raises(CommandError, match="is there already") as refused:
            call_command("export_knitalong", full.slug, str(taken))
        assert refused.value.returncode == 2
    with pytest.raises(CommandError, match="No knit-along is called"):
        call_command("export_knitalong", "nowhere", str(tmp_path / "other"))
    with pytest.raises(CommandError, match="There is no folder"):
        call_command("export_knitalong", full.slug, str(tmp_path / "a" / "b"))
    assert [path.name for path in tmp_path.iterdir() if path.name != "private"] == ["out"]


def test_counts_for_scripts(full, tmp_path, capsys):
    call_command("export_knitalong", full.slug, str(tmp_path / "out"), "--json")
    report = json.loads(capsys.readouterr().out)
    assert report["files"] == 2
    assert report["gone"] == []
    assert (
        report["tables"]["tables/kal.knitalong.csv"] == KnitAlong.objects.filter(pk=full.pk).count()
    )
