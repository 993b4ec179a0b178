"""A backup of a running site, carried from SQLite to PostgreSQL and back without losing a value."""

import json
import os
import secrets
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.deploy.site import COMMAND, manage, own_database
from tests.servers import ROOT

WRITER = """
import itertools
from django.utils import timezone
from kal.models import AuditEntry, KnitAlong, User
host = User.objects.filter(may_host=True).first()
for number in itertools.count():
    knit_along = KnitAlong.objects.order_by("?").first()
    AuditEntry.objects.record(knit_along, "wrote", by=host, at=timezone.now(), number=number)
"""


@pytest.fixture(scope="module")
def other_database():
    with own_database() as url:
        yield url


def site(folder: Path, database: str | None = None) -> dict[str, str]:
    """Return the environment of a site with a folder of its own, its tables made."""
    ours = {name: value for name, value in os.environ.items() if not name.startswith("KAL_")}
    environment = ours | {
        "KAL_DATA_DIR": str(folder),
        "KAL_SECRET_KEY": secrets.token_hex(32),
        "KAL_DEMO": "True",
    }
    environment |= {"KAL_DATABASE_URL": database} if database else {}
    manage(environment, "migrate", "--verbosity=0")
    return environment


def held(archive: Path) -> dict[str, object]:
    """Return all that an archive holds: rows as JSON, files by their checksums."""
    with zipfile.ZipFile(archive) as opened:
        manifest = json.loads(opened.read("manifest.json"))
        found: dict[str, object] = {
            name: digest for name, digest in manifest["members"].items() if "files/" in name
        }
        for label, table in manifest["tables"].items():
            lines = opened.read(f"rows/{label}.jsonl").splitlines()
            assert len(lines) == table["rows"]
            rows = [zip(table["columns"], json.loads(line), strict=True) for line in lines]
            found[label] = [dict(row) for row in rows]
    return found


def test_a_running_site_moves_to_postgresql_and_back(tmp_path, other_database):
    first = site(tmp_path / "first")
    manage(first, "load_demo")
    writer = subprocess.Popen([*COMMAND, "shell", "-c", WRITER], cwd=ROOT, env=first)
    try:
        archives = [tmp_path / f"{number}.zip" for number in range(3)]
        for archive in archives:
            manage(first, "backup", str(archive))
        assert writer.poll() is None, "the writer was refused a write"
    finally:
        writer.kill()
        writer.wait()
    logged = [len(held(archive)["kal.auditentry"]) for archive in archives]  # type: ignore[arg-type]
    assert logged == sorted(logged)
    assert logged[-1] > logged[0]

    second, third = site(tmp_path / "second", other_database), site(tmp_path / "third")
    back, last = tmp_path / "back.zip", tmp_path / "last.zip"
    manage(second, "restore", str(archives[-1]))
    manage(second, "backup", str(back))
    manage(third, "restore", str(back))
    manage(third, "backup", str(last))
    assert held(back) == held(archives[-1])
    assert held(last) == held(archives[-1])

    # Sequences: a row that comes now must not be given the number of one that was restored.
    adding = "from kal.models import User; User.objects.create_user('new@knitters.example')"
    for moved in (second, third):
        manage(moved, "shell", "-c", adding)


FILLED = """
from datetime import UTC, datetime
from kal.models import KnitAlong, Participant, User
at = datetime(2027, 3, 1, 12, 30, 15, 123456, tzinfo=UTC)
knit_along = KnitAlong.objects.create(
    slug="older", title="Older", zone="Europe/Lisbon", sign_up_opens_at=at,
    sign_up_closes_at=at.replace(month=4), cast_on_at=at,
)
Participant.objects.create(user=User.objects.create_user("kit@knitters.example"),
    knit_along=knit_along)
"""

# An older release had the tables and models of its own migrations, which the loader knows.
OLDER_BACKUP = """
import os, sys
os.environ["DJANGO_SETTINGS_MODULE"] = "kal.settings"
import django
django.setup()
from datetime import UTC, datetime
from pathlib import Path
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from kal.records import backup
loader = MigrationLoader(connection)
models = backup.backed_up(loader.project_state(list(loader.applied_migrations)).apps)
backup.backed_up, backup.held_files = lambda: models, lambda: iter(())
backup.write_backup(Path(sys.argv[1]), now=datetime.now(UTC))
"""


def test_an_archive_of_an_older_release_is_restored_and_migrated(tmp_path):
    older = site(tmp_path / "older")
    manage(older, "shell", "-c", FILLED)
    manage(older, "migrate", "schedule", "0008", "--verbosity=0")
    archive = tmp_path / "older.zip"
    subprocess.run(
        [sys.executable, "-c", OLDER_BACKUP, str(archive)], cwd=ROOT, env=older, check=True
    )
    newer = site(tmp_path / "newer")
    manage(newer, "restore", str(archive))
    assert "No migrations to apply" in manage(newer, "migrate")
    manage(newer, "backup", str(tmp_path / "newer.zip"))
    before, after = held(archive), held(tmp_path / "newer.zip")
    assert "schedule.signoff" not in before
    assert after["schedule.signoff"] == []
    assert before["kal.user"] == after["kal.user"]
    assert "2027-03-01T12:30:15.123456+00:00" in str(after["kal.knitalong"])
