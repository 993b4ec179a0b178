"""All that is stored about one person, in one zip file for them: JSON and their own files."""

import json
import tempfile
import textwrap
import zipfile
from datetime import datetime
from typing import IO, Final

from django.core.files.storage import default_storage
from django.utils.translation import gettext_lazy as _

from kal.models import AuditEntry, User
from kal.records.backup import CHUNK
from kal.records.belongings import belongings, told
from kal.records.files import files_of
from kal.records.values import as_json

IN_MEMORY = 2 * 1024 * 1024  # a larger one goes to a file without a name, gone when it is closed
READ_ME: Final = (
    _("What this site holds about you, made at your request."),
    _(
        "data.json: every row that belongs to you, by kind; “done” are acts of yours in the logs "
        "of knit-alongs you organise. Instants are ISO 8601, amounts are texts, and a number that "
        "ends in _id is the row it belongs to."
    ),
    _("files/: your own photos, as they are kept; their place and camera were never stored."),
    _(
        "Left out is what would let whoever finds this file act as you, like the secret of your "
        "calendar."
    ),
)
LINE: Final = 88  # characters; our choice, what a plain text window shows without scrolling


def export_of(user: User, *, now: datetime) -> IO[bytes]:
    """Return an open zip file of all that belongs to the person, at its beginning.

    It has no name on disk, so nothing of it is left once it is closed, whatever happens.
    """
    target = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115  handed on open
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        data: dict[str, object] = {"made_at": now.isoformat()}
        files: list[str] = []
        for label, rows in belongings(user):
            found = list(rows.iterator())
            files += [path for row in found for path in files_of(row)]
            if found:
                data[label] = [told(row) for row in found]
        data["done"] = _done(user)
        # Through the spelling of backups, and then once more to be read by people.
        text = json.dumps(json.loads(as_json(data)), indent=2, ensure_ascii=False)
        archive.writestr("README.txt", _read_me())
        archive.writestr("data.json", text)
        for path in files:
            _add(archive, path)
    target.seek(0)
    return target


def _read_me() -> str:
    return "\n\n".join(textwrap.fill(str(paragraph), LINE) for paragraph in READ_ME) + "\n"


def _done(user: User) -> list[dict[str, object]]:
    acts = AuditEntry.objects.filter(actor=user).order_by("at", "pk")
    columns = ("knit_along__slug", "act", "at")
    return [
        {"knit_along": slug, "act": act, "at": at}
        for slug, act, at in acts.values_list(*columns).iterator()
    ]


def _add(archive: zipfile.ZipFile, path: str) -> None:
    try:
        source = default_storage.open(path, "rb")
    except FileNotFoundError:
        return
    info = zipfile.ZipInfo(f"files/{path}")
    with source, archive.open(info, "w") as member:
        while piece := source.read(CHUNK):
            member.write(piece)
